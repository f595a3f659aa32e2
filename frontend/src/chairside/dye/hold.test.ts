import { describe, expect, it } from "vitest";
import { HOLD_MS, heldPart, holdsKey } from "./hold";

describe("a press that is held", () => {
  it("fills over one second from when it began, by the clock that nobody sets", () => {
    const began = { wall: 5, mono: 2000 };
    expect(heldPart(null, 9999)).toBe(0);
    expect(heldPart(began, 2000)).toBe(0);
    expect(heldPart(began, 2000 + HOLD_MS / 2)).toBe(0.5);
    expect(heldPart(began, 2000 + HOLD_MS - 1)).toBeLessThan(1);
    expect(heldPart(began, 2000 + HOLD_MS)).toBe(1);
    expect(heldPart(began, 90_000)).toBe(1);
    expect(heldPart(began, 1990)).toBe(0);
  });

  it("is held by space and Enter", () => {
    expect(["Enter", " ", "a", "Tab"].map(holdsKey)).toEqual([true, true, false, false]);
  });
});
