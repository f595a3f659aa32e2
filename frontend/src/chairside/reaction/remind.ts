/** When a running reaction asks to be looked at again. Pure. */
import { clockText } from "../tell/series";

/** How many reminders have fallen due since the opening; the newest counts, an hour asleep is not made up for. */
export function remindersDue(openedAt: number, now: number, everyS: number): number {
  if (everyS <= 0) return 0;
  return Math.max(0, Math.floor((now - openedAt) / (everyS * 1000)));
}

/** `4:05`, `1:02:09`: time since a moment, as a clock. A clock that was set back shows zero, never a minus. */
export function clockSince(from: number, now: number): string {
  return clockText(Math.max(0, now - from) / 1000);
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
