/** The clock of a running reaction, and when it asks to be looked at again. Pure. */
import { type ClockAnswer, type ClockReading, secondsSince } from "../../kernel/clock";
import type { Reaction } from "../../log";

/** The zero of a reaction's clock: when the way out was opened, by both clocks of the phone that it was opened on. */
export type Began = Pick<Reaction, "at" | "mono" | "boot" | "device">;

/** How long it runs, at the last of the readings of the phone `device`. */
export function reactionClock(
  began: Began,
  device: string | null,
  readings: readonly ClockReading[],
): ClockAnswer {
  const { at, mono, boot } = began;
  return secondsSince({ at, mono, boot, seconds: 0, foreign: began.device !== device }, readings);
}

/** How long it had run when a line of it was written, by what is kept of the clocks up to then. */
export function reactionClockAt(
  began: Began,
  device: string | null,
  line: Began,
  readings: readonly ClockReading[],
): ClockAnswer {
  const before = readings.findLastIndex((r) => r.boot === line.boot && r.mono <= line.mono);
  const { at, mono, boot } = line;
  const own = line.device === began.device ? device : null;
  return reactionClock(began, own, [...readings.slice(0, before + 1), { at, mono, boot, hidden: false }]);
}

/** How many reminders have fallen due since the opening: by the time of day, and as counted. */
export interface Due {
  wall: number;
  mono: number;
}

/** The newest counts, an hour asleep is not made up for. Both are one while the clock is certain. */
export function remindersDue(clock: ClockAnswer, everyS: number): Due {
  const by = (seconds: number): number => (everyS <= 0 ? 0 : Math.max(0, Math.floor(seconds / everyS)));
  if (clock.seconds !== null) return { wall: by(clock.seconds), mono: by(clock.seconds) };
  return { wall: by(clock.wall_s), mono: by(clock.mono_s) };
}

/** Whether either reading has one more due than was looked at. */
export function asksAgain(due: Due, seen: Due): boolean {
  return due.wall > seen.wall || due.mono > seen.mono;
}

/** What was looked at, where a clock has been set back since: it counts on from there, and does not fall silent. */
export function noLater(seen: Due, due: Due): Due {
  return { wall: Math.min(seen.wall, due.wall), mono: Math.min(seen.mono, due.mono) };
}

/** Time of day to the second: minutes are too coarse between one tap and the next. */
export function timeOfDay(at: number): string {
  return new Date(at).toLocaleTimeString(undefined, {
    hour: "2-digit",
    minute: "2-digit",
    second: "2-digit",
    hourCycle: "h23",
  });
}
