/** Looking up the pack's table of words. The careful side is taken wherever it is coarse. */
import type { TouchTable, TouchWord } from "../../types.gen";

/** How near, in words, for a clearance at the landmark that is nearest; the pack's table already holds the worse face. */
export function touchWord(
  table: TouchTable,
  optic: string,
  landmark: string | null,
  clearance_mm: number | null,
): TouchWord {
  const row = table.rows.find((r) => r.optic === optic && r.landmark === landmark);
  if (row === undefined || clearance_mm === null) return "expect_to_adjust";
  if (row.likely_clear_mm !== null && clearance_mm >= row.likely_clear_mm) return "likely_clear";
  if (row.close_mm !== null && clearance_mm >= row.close_mm) return "close";
  return "expect_to_adjust";
}
