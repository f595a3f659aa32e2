import { describe, expect, it } from "vitest";
import type { ClockReading } from "../../kernel";
import type { CaseState } from "../../log";
import { sinceText } from "../Since";
import { dyeClocks, dyeSeconds } from "./dyeClocks";
import { asksAgain, noLater, reactionClock, remindersDue } from "./remind";

const START = 1_794_000_000_000;
/** Both clocks of one start, seconds after the opening; `set`: by how much the time of day was set meanwhile. */
const reading = (s: number, set = 0, boot = "b"): ClockReading => ({
  at: START + (s + set) * 1000,
  mono: s * 1000,
  boot,
  hidden: false,
});
const began = { at: START, mono: 0, boot: "b", device: "me" };
const clockAt = (...readings: ClockReading[]) => reactionClock(began, "me", [reading(0), ...readings]);
const everySecond = (to: number, set: (s: number) => number) =>
  Array.from({ length: to }, (_, i) => reading(i + 1, set(i + 1)));

describe("the clock of an emergency", () => {
  it("reads like a clock", () => {
    expect(sinceText(clockAt(...everySecond(66, () => 0)))).toBe("1:06");
  });

  it("is not moved by a time of day that is set back or forward in view", () => {
    for (const set of [-3600, 3600]) {
      const clock = clockAt(...everySecond(300, (s) => (s > 10 ? set : 0)));
      expect(clock.seconds).toBeCloseTo(300, 1);
      expect(remindersDue(clock, 120)).toEqual({ wall: 2, mono: 2 });
    }
  });

  it("says that it is uncertain, and asks by whichever reading is due", () => {
    const later = { at: START + 3_900_000, mono: 5_000, boot: "next", hidden: false };
    const clock = clockAt(...everySecond(60, () => 0), later);
    expect(clock.seconds).toBeNull();
    expect(sinceText(clock)).toContain("clock uncertain");
    const due = remindersDue(clock, 120);
    expect(due.wall).toBe(32);
    expect(asksAgain(due, { wall: 0, mono: 0 })).toBe(true);
  });
});

describe("reminders", () => {
  it("an hour asleep is one look, not thirty, and none where the pack asks for none", () => {
    const clock = { state: "certain", seconds: 3600, by: "both", wall_s: 3600, mono_s: 3600 } as const;
    expect(remindersDue(clock, 120)).toEqual({ wall: 30, mono: 30 });
    expect(remindersDue(clock, 0)).toEqual({ wall: 0, mono: 0 });
  });

  it("do not fall silent when a clock goes back", () => {
    expect(noLater({ wall: 30, mono: 2 }, { wall: 1, mono: 3 })).toEqual({ wall: 1, mono: 2 });
  });
});

describe("the dyes' clocks in an emergency", () => {
  it("are each dye's own, from its first injection or what the team agreed on", () => {
    const press = (dye: string, s: number) => ({
      device: "me",
      boot: "b",
      body: { dye, pressed_at: START + s * 1000, pressed_mono: s * 1000 },
    });
    const state = {
      dye: { injected: [press("fluorescein", 1), press("fluorescein", 9), press("indocyanine_green", 31)] },
      clockUncertain: [{ ...reading(40), device: "me", body: { dye: "fluorescein", agreed_s: 80 } }],
    } as unknown as CaseState;
    const readings = [reading(0), ...everySecond(61, () => 0)];
    const clocks = dyeClocks(state, "me", readings).map(({ dye, seconds }) => [
      dye,
      Math.round(seconds ?? -1),
    ]);
    expect(clocks).toEqual([
      ["fluorescein", 101],
      ["indocyanine_green", 30],
    ]);
    expect(dyeSeconds(state, "me", readings)).toBe(30);
    expect(dyeClocks(undefined, "me", readings)).toEqual([]);
  });
});
