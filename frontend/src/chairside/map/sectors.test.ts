import { describe, expect, it } from "vitest";
import { HOURS, hourDirection, hourOf, SECTORS, sectorWords, sideWords } from "./sectors";

describe("hours of the clock, as the photographer faces the eye", () => {
  it("has nasal at 3 in a right eye and at 9 in a left one (common practice, no source)", () => {
    expect(hourOf("right", 1, 0)).toBe(3);
    expect(hourOf("left", 1, 0)).toBe(9);
    expect(hourOf("right", -1, 0)).toBe(9);
    expect(hourOf("left", -1, 0)).toBe(3);
  });
  it("has up at 12 and down at 6 in both", () => {
    for (const eye of ["right", "left"] as const) {
      expect(hourOf(eye, 0, 1)).toBe(12);
      expect(hourOf(eye, 0, -1)).toBe(6);
    }
  });
  it("comes back to the hour that a direction was made from", () => {
    for (const eye of ["right", "left"] as const)
      for (const hour of HOURS) expect(hourOf(eye, ...hourDirection(eye, hour))).toBe(hour);
  });
  it("takes a diagonal for the hour nearer to the horizontal", () => {
    const corners = [1, -1].flatMap((nasal) => [1, -1].map((up) => [nasal, up] as const));
    expect(corners.map(([nasal, up]) => hourOf("right", nasal, up))).toEqual([2, 4, 10, 8]);
    expect(corners.map(([nasal, up]) => hourOf("left", nasal, up))).toEqual([10, 8, 2, 4]);
  });
  it("mirrors: what is at hour h of one eye is at 12 - h of the other", () => {
    for (const hour of HOURS)
      expect(hourOf("left", ...hourDirection("right", hour))).toBe(hour === 12 ? 12 : 12 - hour);
  });
  it("names one centre and two rings of twelve", () => {
    expect(SECTORS).toHaveLength(25);
    expect(new Set(SECTORS.map((s) => s.id)).size).toBe(25);
    expect(sectorWords("right", "centre")).toBe("Centre");
    expect(sectorWords("right", "far-3")).toBe("3 o'clock, far ring (nasal)");
    expect(sectorWords("left", "mid-3")).toBe("3 o'clock, middle ring (temporal)");
    expect(sideWords("right", 10)).toBe("upper temporal");
    expect(sectorWords("right", "mid-77")).toBe("mid-77"); // of a newer app
  });
});
