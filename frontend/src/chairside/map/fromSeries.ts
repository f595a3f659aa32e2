/** The fields of a timed series that runs: what its layout asks of one eye, each gaze once. Pure. */
import type { CaseState, Eye } from "../../log";
import type { Optic, Pack } from "../../types.gen";
import { framesOf, layoutOf } from "../series/course";
import { gazeTitle } from "../series/words";
import { type FrameStatus, fieldAngle, type MapField } from "./filling";

/** Null while no dye is given, or no layout is for the case with this optic. */
export function seriesFields(pack: Pack, state: CaseState, optic: Optic, eye: Eye): MapField[] | null {
  const layout = state.dye.injected.length === 0 ? null : layoutOf(pack, state);
  if (layout === null || layout.optic !== optic.id) return null;
  const found = new Map<string, MapField>();
  for (const frame of framesOf(layout, state)) {
    if (frame.eye !== eye) continue;
    const key = frame.gaze_deg.join();
    const status: FrameStatus = frame.status === "running" || frame.status === "shot" ? "open" : frame.status;
    // a later frame of the same gaze is still to come: the map says what was shown there, whenever it was
    if (found.get(key)?.status === "taken") continue;
    const angle = fieldAngle(optic, state, eye, frame.gaze_deg);
    found.set(key, { id: frame.id, name: gazeTitle(frame), cone: [angle, ...frame.gaze_deg], status });
  }
  return [...found.values()];
}
