import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import { breaksDue, restSince } from "./rest";

const MIN = 60_000;
const noted = (at: number, body: object = {}) => ({ line: `l${at}`, at, device: "d", body });
const seat = (more: object): CaseState =>
  ({
    state: "open",
    found: [],
    frames: [],
    bursts: [],
    pauses: [],
    reactions: [],
    ...more,
  }) as unknown as CaseState;

describe("the time in the chin rest", () => {
  it("counts from the first head position or frame, and is none before", () => {
    expect(restSince(seat({}))).toBeNull();
    expect(restSince(seat({ found: [noted(5)], frames: [noted(3), noted(9)] }))).toBe(3);
  });
  it("stands still in a break and begins anew after it", () => {
    const frames = [noted(1), noted(8)];
    expect(restSince(seat({ frames, pauses: [noted(4, { state: "started" })] }))).toBeNull();
    const over = [noted(4, { state: "started" }), noted(6, { state: "ended" })];
    expect(restSince(seat({ frames, pauses: over }))).toBe(8);
    expect(restSince(seat({ frames: [noted(1)], pauses: over }))).toBeNull();
  });
  it("stands still in an emergency, and in a closed case", () => {
    expect(restSince(seat({ frames: [noted(1)], reactions: [{ ended: null }] }))).toBeNull();
    expect(restSince(seat({ frames: [noted(1), noted(9)], reactions: [{ ended: { at: 5 } }] }))).toBe(9);
    expect(restSince(seat({ frames: [noted(1)], state: "closed" }))).toBeNull();
  });
  it("offers a break at each whole interval, and none where the pack gives no interval", () => {
    expect(breaksDue(0, 9.9 * MIN, 10)).toBe(0);
    expect(breaksDue(0, 10 * MIN, 10)).toBe(1);
    expect(breaksDue(0, 25 * MIN, 10)).toBe(2);
    expect(breaksDue(0, 25 * MIN, 0)).toBe(0);
  });
});
