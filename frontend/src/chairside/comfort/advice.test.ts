import { describe, expect, it } from "vitest";
import type { Thresholds } from "../../types.gen";
import { comfortAdvice } from "./advice";

const T = { comfort_pause_at: 7, comfort_rise_pause: 2 } as Thresholds;

describe("comfortAdvice", () => {
  it("says nothing of a low first score", () => expect(comfortAdvice([], 3, T)).toBeNull());
  it("speaks at the threshold, first score or not", () => {
    expect(comfortAdvice([], 7, T)).toContain("7 of 10");
    expect(comfortAdvice([7], 7, T)).not.toBeNull();
    expect(comfortAdvice([6], 6, T)).toBeNull();
  });
  it("speaks of a rise, a slow one too", () => {
    expect(comfortAdvice([1], 3, T)).toBe("It rose from 1 to 3 of 10.");
    expect(comfortAdvice([1, 2], 3, T)).toBe("It rose from 1 to 3 of 10.");
    expect(comfortAdvice([3], 1, T)).toBeNull();
  });
});
