/** Looking up the pack's tables. The careful side is taken wherever a table is coarse. */
import type { PupilTable, TouchTable, TouchWord } from "../../types.gen";

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

/** Narrow over wide diameter of the pupil for a horizontal gaze, nasal positive; the smaller of two neighbours. */
export function pupilRatio(table: PupilTable, gaze_h_deg: number): number {
  const last = table.ratios.length - 1;
  const at = (gaze_h_deg - table.from_deg) / table.step_deg;
  const low = Math.min(Math.max(Math.floor(at), 0), last);
  const high = Math.min(Math.max(Math.ceil(at), 0), last);
  return Math.min(table.ratios[low] ?? 0, table.ratios[high] ?? 0);
}
