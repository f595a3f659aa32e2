import { describe, expect, it } from "vitest";
import { after, EMPTY, fromBody, questionsFor, toBody, unsaid } from "./record";

const NOWHERE = { step: null, optic: null, eye: null };

describe("the record of a safety event", () => {
  it("needs nothing but what happened", () => {
    expect(toBody(EMPTY, NOWHERE)).toBeNull();
    expect(toBody({ ...EMPTY, what: "faint" }, NOWHERE)).toMatchObject({
      what: "faint",
      reached_patient: null,
      harm: null,
    });
  });
  it("asks a near miss for neither harm nor signs, and logs neither", () => {
    const near = {
      ...EMPTY,
      what: "images_lost",
      reached: "no" as const,
      harm: "mild" as const,
      signs: ["nausea"],
    };
    expect(questionsFor(near)).toEqual(["what", "reached", "done", "told", "note"]);
    expect(after(near, "reached")).toBe("done");
    expect(toBody(near, NOWHERE)).toMatchObject({ reached_patient: false, harm: null, signs: [] });
  });
  it("keeps 'not known' as not known", () => {
    const d = { ...EMPTY, what: "fall", reached: "unknown" as const, harm: "unknown" as const };
    expect(toBody(d, NOWHERE)).toMatchObject({ reached_patient: null, harm: null });
    expect(unsaid(d)).toEqual(["signs", "what was done", "who was told"]);
  });
  it("comes back from the log as it went in", () => {
    const d = {
      ...EMPTY,
      what: "faint",
      reached: "yes" as const,
      harm: "mild" as const,
      signs: ["pale_or_sweating"],
      note: "sat down",
    };
    const body = toBody(d, NOWHERE);
    expect(body && fromBody(body)).toEqual(d);
  });
});
