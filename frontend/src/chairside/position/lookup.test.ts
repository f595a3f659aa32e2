import { describe, expect, test } from "vitest";
import { touchWord } from "./lookup";

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
