import { describe, expect, it } from "vitest";
import { drawFace, FACES } from "./faces";

/** Height of the mouth's middle above its corners: positive is a smile, y runs down. */
const smile = (score: number): number => {
  const [, corner, middle] = /M12 ([\d.]+)Q20 ([\d.]+)/.exec(drawFace(score).mouth) ?? [];
  return Number(middle) - Number(corner);
};

describe("the faces of comfort", () => {
  it("have both ends of the scale and words of their own", () => {
    expect(FACES.map((f) => f.score)).toEqual([0, 3, 5, 8, 10]);
    expect(new Set(FACES.map((f) => f.word)).size).toBe(FACES.length);
  });
  it("turn steadily from a smile to its opposite, and shut their eyes at the end", () => {
    const all = Array.from({ length: 11 }, (_, score) => smile(score));
    expect(all.every((s, i) => i === 0 || s < (all[i - 1] ?? 0))).toBe(true);
    expect(all[0]).toBeGreaterThan(0);
    expect(all[10]).toBeLessThan(0);
    expect(drawFace(0).shut).toBe(0);
    expect(drawFace(10).shut).toBe(1);
  });
});
