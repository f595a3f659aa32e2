/** For whom the outside light never blinks. Pure. */
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { harmedByFlashes } from "../screening/course";
import { PHOTOSENSITIVE } from "./dot";

/** By the case's flag, or by an answer of the screening: either is enough. */
export function steadyFor(pack: Pack | null, state: CaseState): boolean {
  return state.flags.includes(PHOTOSENSITIVE) || (pack !== null && harmedByFlashes(pack, state));
}
