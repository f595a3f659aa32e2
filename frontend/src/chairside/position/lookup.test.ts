import { describe, expect, test } from "vitest";
import { pupilRatio, touchWord } from "./lookup";

const table = {
  how: "",
  rows: [
    { optic: "near", landmark: "brow" as const, likely_clear_mm: 9, close_mm: 5, samples: 1 },
    { optic: "near", landmark: "tip" as const, likely_clear_mm: null, close_mm: 6, samples: 1 },
  ],
};

describe("how near, in words", () => {
  test("by the clearance at the nearest landmark", () => {
    expect(touchWord(table, "near", "brow", 9)).toBe("likely_clear");
    expect(touchWord(table, "near", "brow", 8.9)).toBe("close");
    expect(touchWord(table, "near", "brow", 4.9)).toBe("expect_to_adjust");
  });
  test("a landmark without a row, or a word that nothing earned, gets the careful word", () => {
    expect(touchWord(table, "near", "cheek", 40)).toBe("expect_to_adjust");
    expect(touchWord(table, "near", "tip", 40)).toBe("close");
    expect(touchWord(table, "near", "brow", null)).toBe("expect_to_adjust");
  });
});

test("pupil ratio: the smaller of two neighbours, the end beyond the ends", () => {
  const ratios = { from_deg: -10, step_deg: 10, ratios: [0.97, 0.99, 0.96], source: "" };
  expect(pupilRatio(ratios, 0)).toBe(0.99);
  expect(pupilRatio(ratios, 4)).toBe(0.96);
  expect(pupilRatio(ratios, -1)).toBe(0.97);
  expect(pupilRatio(ratios, 40)).toBe(0.96);
  expect(pupilRatio(ratios, -40)).toBe(0.97);
});
