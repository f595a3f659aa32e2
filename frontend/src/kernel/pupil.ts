/** How narrow the pupil looks from the side: the pack's table, looked up, never computed. */
import type { PupilTable } from "../types.gen";

/** Narrow over wide diameter for a horizontal gaze, nasal positive: the smaller of two neighbours, beyond the ends the end. */
export function pupilRatio(table: PupilTable, gaze_h_deg: number): number {
  const last = table.ratios.length - 1;
  const at = Math.min(last, Math.max(0, (gaze_h_deg - table.from_deg) / table.step_deg));
  return Math.min(table.ratios[Math.floor(at)] as number, table.ratios[Math.ceil(at)] as number);
}
