/** The clock of each dye: since when it runs, and where it stood at a line. */

import type { Timeline, TimelineEntry } from "../../types.gen";
import { standingOf } from "../standing";
import { afterDye } from "../tellingSeries";

export interface DyeClock {
  line: string;
  dye: string;
  device: string;
  /** When the press began, by the phone's clock. */
  pressed_at: number;
  offset_ms: number | null;
  route: string;
  arm: string | null;
  /** The team agreed that this clock is not sure. */
  uncertain: boolean;
}

export function dyeClocks(timeline: Timeline): DyeClock[] {
  const doubted = new Set(standingOf(timeline, "clock.uncertain").map(({ body }) => body.dye));
  return standingOf(timeline, "dye.injected").map(({ entry, body }) => ({
    line: entry.id,
    dye: body.dye,
    device: entry.device,
    pressed_at: body.pressed_at,
    offset_ms: entry.offset_ms,
    route: body.route,
    arm: body.arm,
    uncertain: doubted.has(body.dye),
  }));
}

/**
 * Seconds from the press to a line. Two phones are compared by the server's clock; null where one of them was never
 * compared with it.
 */
export function secondsSince(clock: DyeClock, entry: TimelineEntry): number | null {
  if (entry.device === clock.device) return (entry.at - clock.pressed_at) / 1000;
  if (entry.offset_ms === null || clock.offset_ms === null) return null;
  return (entry.at - entry.offset_ms - (clock.pressed_at - clock.offset_ms)) / 1000;
}

const SHOWN_S = 3 * 3600;

/** "Fluorescein: 4 min 05 s after the dye", for each dye given before a line; nothing hours later. */
export function sinceWords(
  clocks: readonly DyeClock[],
  entry: TimelineEntry,
  dye: (id: string) => string,
): string[] {
  return clocks.flatMap((clock) => {
    const seconds = secondsSince(clock, entry);
    if (seconds === null || seconds < 0 || seconds > SHOWN_S) return [];
    const words = afterDye(seconds).replace(" after the dye", "");
    return [`${dye(clock.dye)} ${clock.uncertain ? "about " : ""}${words}`];
  });
}
