/** What was asked for against what was taken. Pure. */
import type { CaseState, Eye } from "../../log";
import type { Pack } from "../../types.gen";
import { allFields } from "../guide";
import { framesOf, layoutOf } from "../series/course";
import { frameLine } from "../series/words";

export interface AskedFrame {
  key: string;
  eye: Eye;
  name: string;
  /** Taken with any optic, or said to be missed; null where nothing is said. */
  outcome: "taken" | "missed" | null;
}

/** Every frame asked of every eye, each once: with which optic it was taken is the photographer's choice. Where a timed
 * series was followed, its own frames stand for those of the list that is checked off without one. */
export function askedFrames(pack: Pack, state: CaseState): AskedFrame[] {
  const layout = state.laid.length > 0 ? layoutOf(pack, state) : null;
  const listed = new Set(pack.steps.filter((s) => s.screen === "series").flatMap((s) => s.fields));
  const found = new Map<string, AskedFrame>();
  for (const optic of state.optics) {
    for (const eye of state.eyes) {
      for (const field of allFields(pack, state, eye, optic)) {
        if (layout !== null && listed.has(field.id)) continue;
        const tries = state.frames
          .map((f) => f.body)
          .filter((b) => b.eye === eye && b.field === field.id && !b.series_frame);
        const taken = tries.some((b) => b.outcome === "taken");
        const outcome = taken ? "taken" : tries.at(-1)?.outcome === "missed" ? "missed" : null;
        const key = `${eye} ${field.id}`;
        found.set(key, { key, eye, name: field.name, outcome });
      }
    }
  }
  for (const frame of layout === null ? [] : framesOf(layout, state)) {
    const mine = state.frames.map((f) => f.body).filter((b) => b.series_frame === frame.id);
    // a burst was shot: it is taken unless it was looked through and given up
    const shot = frame.status === "shot" || frame.status === "running";
    const taken = shot || mine.some((b) => b.outcome === "taken");
    const outcome = taken ? "taken" : frame.status === "missed" ? "missed" : null;
    found.set(frame.id, { key: frame.id, eye: frame.eye, name: frameLine(frame), outcome });
  }
  return [...found.values()];
}
