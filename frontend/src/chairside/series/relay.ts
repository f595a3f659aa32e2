/** What is left, laid anew from where the series stands. */
import type { Layout, Pace } from "../../types.gen";
import type { DyeClock } from "./clocks";
import type { SeriesFrame } from "./course";

/** A moment of a dye's own clock on the line: as it was given, or as it is planned. */
export function onLine(
  layout: Layout,
  clocks: readonly DyeClock[],
  now_s: number,
  dye: string,
  seconds: number,
): number {
  const clock = clocks.find((one) => one.modality === dye);
  if (clock !== undefined && clock.seconds !== null) return now_s + seconds - clock.seconds;
  return seconds + (layout.dyes.find((one) => one.dye === dye)?.after_s ?? 0);
}

/** Where eye, gaze and head stand, and since when. */
export interface Standing extends Pick<SeriesFrame, "eye" | "gaze_deg" | "turn"> {
  /** By the dye's own clock of that frame; null where it was uncertain. */
  dye: string;
  dye_s: number | null;
}

function setup_s(before: Standing | null, after: SeriesFrame, pace: Pace): number {
  if (before === null) return 0;
  if (before.eye !== after.eye) return pace.eye_change_s;
  const moved = before.gaze_deg[0] !== after.gaze_deg[0] || before.gaze_deg[1] !== after.gaze_deg[1];
  return (before.turn !== after.turn ? pace.head_turn_s : 0) + (moved ? pace.gaze_move_s : 0);
}

/** Start of each frame that can be kept, on the line; those that no longer fit are left out. */
export function layAgain(
  pace: Pace,
  layout: Layout,
  clocks: readonly DyeClock[],
  open: readonly SeriesFrame[],
  before: Standing | null,
  now_s: number,
): Map<string, number> {
  const starts = new Map<string, number>();
  let free = now_s;
  let at: Standing | null = before;
  for (const frame of open) {
    const release = onLine(layout, clocks, now_s, frame.dye, frame.from_s);
    const due = onLine(layout, clocks, now_s, frame.dye, frame.to_s);
    const begin = Math.max(free + setup_s(at, frame, pace), release);
    if (begin + pace.frame_s > due) continue;
    starts.set(frame.id, begin);
    free = frame.burst ? due : begin + pace.frame_s;
    at = { ...frame, dye_s: null };
  }
  return starts;
}

/** When the current frame should begin: when its window opens, or when the hands were free for it since. */
export function callAt(
  pace: Pace,
  layout: Layout,
  clocks: readonly DyeClock[],
  current: SeriesFrame,
  before: Standing | null,
  now_s: number,
): number {
  const release = onLine(layout, clocks, now_s, current.dye, current.from_s);
  if (before === null || before.dye_s === null) return release;
  const freed = onLine(layout, clocks, now_s, before.dye, before.dye_s) + setup_s(before, current, pace);
  return Math.max(release, freed);
}
