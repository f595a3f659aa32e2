/** A clock as it is shown: what it says; or, where nobody can tell, that, and what each of the phone's clocks says. */
import type { ClockAnswer, ClockReading } from "../kernel/clock";
import { Icon } from "../ui";
import { useNow } from "./now";
import { readingsNow } from "./series/keeping";
import { clockText } from "./tell/series";

type Told = Pick<ClockAnswer, "seconds" | "wall_s" | "mono_s">;

/** The readings of both clocks, taken anew every so often while this is on the screen. */
export function useReadings(everyMs: number): readonly ClockReading[] {
  useNow(everyMs);
  return readingsNow();
}

/** `1:04:05 by the time of day, at least 4:05 counted`. */
export function bothText({ wall_s, mono_s }: Told): string {
  return `${clockText(wall_s)} by the time of day, at least ${clockText(Math.max(0, mono_s))} counted`;
}

/** `4:05`, never a minus; or that it is uncertain, with both readings. */
export function sinceText(clock: Told): string {
  if (clock.seconds !== null) return clockText(Math.max(0, clock.seconds));
  return `clock uncertain: ${bothText(clock)}`;
}

export function Since({ clock, as, label }: { clock: Told; as: string; label?: string }) {
  if (clock.seconds === null)
    return (
      <>
        <span class="t-do strong">
          <Icon name="warn" /> clock uncertain
        </span>{" "}
        <span class="t-small number">{bothText(clock)},</span>
      </>
    );
  return (
    <span class={as} role="timer" aria-label={label}>
      {sinceText(clock)}
    </span>
  );
}
