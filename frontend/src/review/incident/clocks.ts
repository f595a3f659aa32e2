/** The clock of each dye: since when it runs, and where it stood at a line. The server works the seconds out. */

import type { SinceDye, Timeline, TimelineEntry } from "../../types.gen";
import { standingOf } from "../standing";
import { afterDye } from "../tellingSeries";

export interface DyeClock {
  line: string;
  dye: string;
  /** When the press began, by the phone's clock. */
  pressed_at: number;
  route: string;
  arm: string | null;
  /** The phone or the team found this clock not sure. */
  uncertain: boolean;
}

export function dyeClocks(timeline: Timeline): DyeClock[] {
  const doubted = new Set(standingOf(timeline, "clock.uncertain").map(({ body }) => body.dye));
  return standingOf(timeline, "dye.injected").map(({ entry, body }) => ({
    line: entry.id,
    dye: body.dye,
    pressed_at: body.pressed_at,
    route: body.route,
    arm: body.arm,
    uncertain: doubted.has(body.dye),
  }));
}

const SHOWN_S = 3 * 3600;
const time = (seconds: number): string => afterDye(seconds).replace(" after the dye", "");

/** "Fluorescein 4 min 05 s", for each dye given before a line; nothing hours later. Which clock vouches is said where it
 * is not both, and what each says where neither does. */
export function sinceWords(entry: TimelineEntry, dye: (id: string) => string): string[] {
  return entry.since_dye.flatMap((since) => {
    const shown = since.seconds ?? since.wall_s;
    if (shown > SHOWN_S && (since.mono_s ?? shown) > SHOWN_S) return [];
    return [`${dye(since.dye)} ${told(since)}`];
  });
}

function told({ seconds, by, wall_s, mono_s, agreed }: SinceDye): string {
  if (seconds === null) {
    const counted = mono_s === null ? "" : `, the phone counted ${time(mono_s)} at least`;
    return `uncertain: the time of day says ${time(wall_s)}${counted}`;
  }
  return `${agreed ? "about " : ""}${time(seconds)}${by === "wall" ? " by the time of day alone" : ""}`;
}
