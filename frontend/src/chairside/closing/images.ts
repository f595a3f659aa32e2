/** What was asked for against what was taken. Pure. */
import type { CaseState, Eye } from "../../log";
import type { Field, Pack } from "../../types.gen";
import { allFields } from "../guide";

export interface AskedFrame {
  eye: Eye;
  field: Field;
  /** Taken with any optic, or said to be missed; null where nothing is said. */
  outcome: "taken" | "missed" | null;
}

/** Every frame asked of every eye, each once: with which optic it was taken is the photographer's choice. */
export function askedFrames(pack: Pack, state: CaseState): AskedFrame[] {
  const found = new Map<string, AskedFrame>();
  for (const optic of state.optics) {
    for (const eye of state.eyes) {
      for (const field of allFields(pack, state, eye, optic)) {
        const tries = state.frames.map((f) => f.body).filter((b) => b.eye === eye && b.field === field.id);
        const taken = tries.some((b) => b.outcome === "taken");
        const outcome = taken ? "taken" : tries.at(-1)?.outcome === "missed" ? "missed" : null;
        found.set(`${eye} ${field.id}`, { eye, field, outcome });
      }
    }
  }
  return [...found.values()];
}
