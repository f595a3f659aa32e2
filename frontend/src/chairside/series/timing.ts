/** When a cue is due, from the frames that are still to be taken. Pure. */
import type { Cue } from "./cues";

export interface Due {
  /** Of the layout's frame. */
  id: string;
  name: string;
  /** When it should begin, seconds on the line of the series. */
  start_s: number;
}

export interface Given {
  cue: Cue;
  words: string;
  frame: string;
}

/** Seconds before the start at which something is said; below these each second is counted. */
const SAID_BEFORE_S = [30, 10];
const COUNTED_FROM_S = 5;
/** From here on a frame counts as waiting. */
const LATE_AFTER_S = 10;
/** A frame that waits is called again this often. */
const LATE_EVERY_S = 20;
/** A cue that is older than this when its moment is noticed is no use: the page was hidden or the phone asleep. */
const STALE_S = 1.5;

/**
 * What falls due after `from_s` and up to `to_s` on the line. `next` is the frame that comes or
 * waits. At most one is given for each stretch of time, so that a page that comes back does not babble.
 */
export function cueBetween(next: Due, from_s: number, to_s: number): Given | null {
  const moments: { at: number; cue: Cue; words: string }[] = [
    ...SAID_BEFORE_S.map((before) => ({
      at: next.start_s - before,
      cue: "soon" as const,
      words: `${next.name} in ${before} seconds`,
    })),
    ...Array.from({ length: COUNTED_FROM_S }, (_, i) => COUNTED_FROM_S - i).map((before) => ({
      at: next.start_s - before,
      cue: "soon" as const,
      words: String(before),
    })),
    { at: next.start_s, cue: "now", words: `${next.name}, now` },
  ];
  for (let at = next.start_s + LATE_EVERY_S; at <= to_s; at += LATE_EVERY_S)
    moments.push({ at, cue: "late", words: `${next.name} is waiting` });
  const due = moments.filter(({ at }) => at > from_s && at <= to_s).at(-1);
  if (due === undefined) return null;
  // after a gap only what still waits is worth saying
  if (to_s - due.at > STALE_S && due.cue !== "late") return null;
  return { cue: due.cue, words: due.words, frame: next.id };
}

/** Whether a frame that should have begun `in_s` seconds from now (below zero: ago) waits. */
export function isLate(in_s: number): boolean {
  return in_s <= -LATE_AFTER_S;
}
