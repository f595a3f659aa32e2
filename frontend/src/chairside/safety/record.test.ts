import { describe, expect, it } from "vitest";
import { caughtUp, EMPTY, fromBody, hoursFault, nextQuestion, toBody, unsaid } from "./record";

const NOWHERE = { step: null, optic: null, eye: null, dye_s: null, reaction: null, late: false };

describe("the record of a safety event", () => {
  it("needs nothing but what happened", () => {
    expect(toBody(EMPTY, NOWHERE)).toBeNull();
    expect(toBody({ ...EMPTY, what: "faint" }, NOWHERE)).toMatchObject({
      what: "faint",
      reached_patient: null,
      harm: null,
    });
  });
  it("asks each question until it is answered, and passes none", () => {
    const asked: unknown[] = [];
    let d = { ...EMPTY };
    for (const answer of [{ what: "fall" }, { reached: "yes" as const }, { harm: "mild" as const }]) {
      asked.push(nextQuestion(d));
      d = { ...d, ...answer };
    }
    expect(asked).toEqual(["what", "reached", "harm"]);
    expect(nextQuestion(d)).toBeNull();
    expect(nextQuestion({ ...EMPTY, what: "fall", reached: "unknown" })).toBe("harm");
  });
  it("asks a near miss for neither harm nor signs, and logs neither", () => {
    const near = {
      ...EMPTY,
      what: "images_lost",
      reached: "no" as const,
      harm: "mild" as const,
      signs: ["nausea"],
    };
    expect(nextQuestion({ ...near, harm: null })).toBeNull();
    expect(unsaid(near)).toEqual(["what was done", "who was told"]);
    expect(toBody(near, NOWHERE)).toMatchObject({ reached_patient: false, harm: null, signs: [] });
  });
  it("asks nothing again that the log has heard, should the draft be older", () => {
    const older = { ...EMPTY, what: "fall" };
    const asked = toBody(older, NOWHERE) ?? {};
    expect(nextQuestion({ ...older, ...caughtUp(older, asked) })).toBe("reached"); // nothing more was heard
    const near = { ...older, reached: "no" as const, done: ["helped up"], note: "by the door" };
    const now = { ...older, ...caughtUp(older, toBody(near, NOWHERE) ?? {}) };
    expect(now).toMatchObject(near);
    expect(nextQuestion(now)).toBeNull();
    const hurt = { ...older, reached: "yes" as const, harm: "mild" as const };
    expect({ ...older, ...caughtUp(older, toBody(hurt, NOWHERE) ?? {}) }).toMatchObject(hurt);
    // asked anew what happened: that is left to the person
    expect(caughtUp({ ...near, what: null }, toBody(near, NOWHERE) ?? {})).toEqual({});
  });
  it("keeps 'not known' as not known, and as something to finish", () => {
    const d = { ...EMPTY, what: "fall", reached: "unknown" as const, harm: "unknown" as const };
    expect(toBody(d, NOWHERE)).toMatchObject({ reached_patient: null, harm: null });
    expect(unsaid(d)).toEqual([
      "whether it reached the patient",
      "the harm",
      "signs",
      "what was done",
      "who was told",
    ]);
  });
  it("asks of a late event when it was, in words or in hours, and reads neither as a guess", () => {
    const late = { ...EMPTY, what: "other", reached: "no" as const, done: ["x"], told: ["y"] };
    expect(unsaid(late, true)).toEqual(["when it was"]);
    expect(unsaid({ ...late, when: "at supper" }, true)).toEqual([]);
    expect(unsaid({ ...late, hours: "6" }, true)).toEqual([]);
    expect(unsaid(late, false)).toEqual([]);
    expect(toBody({ ...late, hours: "6,5" }, NOWHERE)).toMatchObject({ when: "", after_dye_h: 6.5 });
    expect(hoursFault({ ...late, hours: "900" })).toContain("672");
    expect(toBody(late, NOWHERE)?.after_dye_h).toBeNull();
  });
  it("comes back from the log as it went in", () => {
    const d = {
      ...EMPTY,
      what: "faint",
      reached: "yes" as const,
      harm: "mild" as const,
      signs: ["pale_or_sweating"],
      note: "sat down",
      finished: true,
    };
    const body = toBody(d, { ...NOWHERE, dye_s: 95 });
    expect(body?.dye_s).toBe(95);
    expect(body && fromBody(body)).toEqual(d);
  });
});
