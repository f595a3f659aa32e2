/**
 * What the last try with the same eye and optic taught, said beside the next advice. It changes no number: the model
 * does not know why more was needed, and the photographer does.
 */
import type { CaseState, Eye } from "../../log";
import { gazeWords } from "./words";

export function lastTimeWords(state: Pick<CaseState, "found">, eye: Eye, optic: string): string | null {
  const last = state.found.filter(({ body }) => body.eye === eye && body.optic === optic).at(-1)?.body;
  if (last === undefined || last.outcome === "as_advised") return null;
  const where = ` (eye ${gazeWords(eye, last.gaze_deg)})`;
  const touched = last.touched ? " It touched." : "";
  if (last.outcome === "not_reached") return `Last time the position was not reached${where}.${touched}`;
  const by = last.by_deg === null || last.by_deg === undefined ? "" : `${Math.round(last.by_deg)}° `;
  const words = last.outcome === "more" ? "more turn was needed" : "less turn was enough";
  return `Last time ${by}${words}${where}.${touched}`;
}
