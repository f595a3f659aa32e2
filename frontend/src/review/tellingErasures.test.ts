import { describe, expect, it } from "vitest";
import type { BodiesErased, Timeline, TimelineEntry } from "../types.gen";
import { namesFrom } from "./names";
import { tell } from "./telling";
import { erasedOf } from "./tellingErasures";

const NAMES = namesFrom(null);
const stone: BodiesErased = {
  salt: "s",
  by: "command",
  rule: "age",
  years: 10,
  why: "our rule",
  erasure: "e",
  bodies: ["a", "b"],
  case: null,
  at: null,
  month: null,
  tallies: [],
  incidents: [],
  refused: 0,
  signature: "x",
};
const at = Date.parse("2036-11-29T12:00:00Z");
const timelineOf = (...bodies: (Partial<BodiesErased> | null)[]): Timeline =>
  ({
    entries: bodies.map((body) => ({ type: "bodies.erased", known: true, at, body }) as TimelineEntry),
  }) as Timeline;

describe("a case that was erased", () => {
  it("says by which rule and when", () => {
    expect(erasedOf(timelineOf({ ...stone }))).toEqual({
      title: "Erased by rule on 29 Nov 2036",
      why: "older than 10 years (our rule)",
    });
    expect(erasedOf(timelineOf({ ...stone, years: 1 }))?.why).toBe("older than 1 year (our rule)");
    const asked = { ...stone, rule: "request" as const, years: null };
    expect(erasedOf(timelineOf({ ...stone }, { ...asked }))?.title).toBe("Erased by request on 29 Nov 2036");
  });

  it("is not said where the server did not say it", () => {
    expect(erasedOf(timelineOf())).toBeNull();
    expect(erasedOf(timelineOf(null))).toBeNull(); // from a phone, such a line has no body here
  });

  it("is told line by line", () => {
    const said = tell("bodies.erased", true, { ...stone }, NAMES);
    expect(said.title).toBe("Erased by rule");
    expect(said.rows).toContainEqual(["Lines whose content went", "2"]);
    expect(tell("comfort.noted", true, null, NAMES).title).toBe("Comfort noted: erased");
    const rule = { salt: "s", by: "olga", years: null, why: "x" };
    expect(tell("retention.set", true, rule, NAMES).rows).toContainEqual(["From now on", "for good"]);
  });
});
