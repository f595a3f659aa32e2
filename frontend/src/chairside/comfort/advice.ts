import type { Thresholds } from "../../types.gen";

/**
 * Why a pause should be offered after this score, as a sentence; null when nothing in the pack's thresholds says so.
 * `before`: the earlier scores of the case, oldest first. A rise is counted from the best the patient has been, so
 * that a slow climb shows too.
 */
export function comfortAdvice(
  before: readonly number[],
  score: number,
  thresholds: Thresholds,
): string | null {
  if (score >= thresholds.comfort_pause_at)
    return `${score} of 10 is at or above ${thresholds.comfort_pause_at}.`;
  if (before.length === 0) return null;
  const best = Math.min(...before);
  if (score - best >= thresholds.comfort_rise_pause) return `It rose from ${best} to ${score} of 10.`;
  return null;
}
