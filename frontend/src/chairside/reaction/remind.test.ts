import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import { dyeClocks, dyeSeconds } from "./dyeClocks";
import { clockSince, remindersDue } from "./remind";

describe("the clocks of an emergency", () => {
  it("read like a clock, and never go below zero", () => {
    expect(clockSince(0, 65_900)).toBe("1:05");
    expect(clockSince(0, 3_723_000)).toBe("1:02:03");
    expect(clockSince(0, 760_000)).toBe("12:40");
    expect(clockSince(10_000, 0)).toBe("0:00");
  });
  it("remind at each interval; an hour asleep is one look, not thirty", () => {
    expect(remindersDue(0, 119_999, 120)).toBe(0);
    expect(remindersDue(0, 120_000, 120)).toBe(1);
    expect(remindersDue(0, 3_600_000, 120)).toBe(30);
    expect(remindersDue(0, 3_600_000, 0)).toBe(0);
  });
  it("keep each dye's own, from its first injection or what the team agreed on", () => {
    const state = {
      dye: {
        injected: [
          { body: { dye: "fluorescein", pressed_at: 1000 } },
          { body: { dye: "fluorescein", pressed_at: 9000 } },
          { body: { dye: "indocyanine_green", pressed_at: 31_000 } },
        ],
      },
      clockUncertain: [{ at: 100_000, body: { dye: "fluorescein", agreed_s: 80 } }],
    } as unknown as CaseState;
    expect(dyeClocks(state)).toEqual([
      { dye: "fluorescein", from: 20_000 },
      { dye: "indocyanine_green", from: 31_000 },
    ]);
    expect(dyeSeconds(state, 61_000)).toBe(30); // since the latest
    expect(dyeClocks(undefined)).toEqual([]);
  });
});
