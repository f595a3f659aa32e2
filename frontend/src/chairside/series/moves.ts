/** From one frame to the next: whether the instrument is drawn back first. Pure. */
import type { Eye } from "../../log";
import type { Pack } from "../../types.gen";
import { isLargeMove } from "../frames/plan";

/** Where eye, gaze and head stand for a frame. */
export interface Placed {
  eye: Eye;
  gaze_deg: readonly [number, number];
  turn: number;
}

/** `eye` before the other eye, `move` before a large move of the gaze or a turn of the head; else null. */
export function asksToDrawBack(
  from: Placed | null,
  to: Placed,
  pack: Pick<Pack, "thresholds">,
): "eye" | "move" | null {
  if (from === null) return null;
  if (from.eye !== to.eye) return "eye";
  if (from.turn !== to.turn) return "move";
  return isLargeMove(from.gaze_deg, to.gaze_deg, pack.thresholds.large_move_deg) ? "move" : null;
}
