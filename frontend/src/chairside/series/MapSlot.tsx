/** Where the retina fills as frames are taken; read in after the clock and the frame stand. */
import type { CaseState, Eye } from "../../log";
import type { Pack } from "../../types.gen";
import { later } from "../later";
import type { SeriesFrame } from "./course";

export interface MapSlotProps {
  pack: Pack;
  state: CaseState;
  eye: Eye;
  optic: string;
  frames: readonly SeriesFrame[];
  now: string | null;
}

const SeriesMap = later(() => import("./SeriesMap").then((m) => m.SeriesMap));

export function MapSlot(props: MapSlotProps) {
  // a pack of before the map has no retina: the list of frames says the same
  return props.pack.retina ? <SeriesMap {...props} /> : null;
}
