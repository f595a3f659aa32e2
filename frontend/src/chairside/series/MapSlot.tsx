import type { CaseState, Eye } from "../../log";
import type { Pack } from "../../types.gen";

/** The retina that fills as frames are taken. */
export function MapSlot(_: { pack: Pack; state: CaseState; eye: Eye; optic: string }) {
  return null;
}
