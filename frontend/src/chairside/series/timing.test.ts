import { describe, expect, it } from "vitest";
import { cueBetween, type Due, isLate } from "./timing";

const next: Due = { id: "mid-centre", name: "Centre", start_s: 120 };

/** Every cue while the page looks five times a second. */
function heard(from_s: number, to_s: number): string[] {
  const said: string[] = [];
  for (let t = from_s; t < to_s; t += 0.2) {
    const given = cueBetween(next, t, t + 0.2);
    if (given) said.push(`${given.cue}: ${given.words}`);
  }
  return said;
}

describe("cues of the series", () => {
  it("calls ahead, counts down, and says when", () => {
    expect(heard(80, 121)).toEqual([
      "soon: Centre in 30 seconds",
      "soon: Centre in 10 seconds",
      "soon: 5",
      "soon: 4",
      "soon: 3",
      "soon: 2",
      "soon: 1",
      "now: Centre, now",
    ]);
  });

  it("calls again while the frame waits", () => {
    expect(heard(130, 185)).toEqual([
      "late: Centre is waiting",
      "late: Centre is waiting",
      "late: Centre is waiting",
    ]);
    expect(isLate(-9.9)).toBe(false);
    expect(isLate(-10)).toBe(true);
  });

  it("says one thing after a gap, and nothing that is over", () => {
    expect(cueBetween(next, 60, 119)?.words).toBe("1");
    expect(cueBetween(next, 60, 117.5)?.words).toBe("3");
    expect(cueBetween(next, 60, 108)).toBeNull(); // half a minute was called fifteen seconds ago
    expect(cueBetween(next, 60, 170)).toMatchObject({ cue: "late" });
  });
});
