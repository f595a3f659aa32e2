/** When a phone with PINs locks by itself. Pure. */
import { type CaseState, running } from "../../log";
import { seriesRuns } from "../reaction/begin";

const MINUTE_MS = 60_000;
/** Without a touch. */
export const IDLE_MS = 5 * MINUTE_MS;
/** While a timed series goes on: between two late frames nobody touches the phone. */
export const IDLE_IN_SERIES_MS = 30 * MINUTE_MS;
/** Another app in front, or the screen off. */
export const HIDDEN_MS = 2 * MINUTE_MS;

export interface Use {
  touchedAt: number;
  /** Null while the page is shown. */
  hiddenAt: number | null;
  emergency: boolean;
  cases: readonly CaseState[];
}

function isInBurst(state: CaseState): boolean {
  return state.state === "open" && state.bursts.at(-1)?.body.state === "started";
}

/** Never over an emergency or in a burst. A clock that is set ahead locks it sooner; one that is set back, later by as
 * much at most. */
export function isDue({ touchedAt, hiddenAt, emergency, cases }: Use, now: number): boolean {
  if (emergency || cases.some((c) => running(c) !== null || isInBurst(c))) return false;
  const series = cases.some((c) => c.state === "open" && seriesRuns(c));
  const hidden = hiddenAt !== null && !series && now - hiddenAt >= HIDDEN_MS;
  return hidden || now - touchedAt >= (series ? IDLE_IN_SERIES_MS : IDLE_MS);
}
