/**
 * Seconds since an injection, from what the phone's two clocks said. Counterpart of `model/series/clock.py`, which
 * gives the reasons; the pack's `clock_vectors` hold the two together.
 *
 * HOW TO USE IT
 *   secondsSince(anchor, readings) -> { state, seconds, by, wall_s, mono_s }
 * `anchor`: the press, { at: pressed_at, mono: pressed_mono, boot: of the line's envelope, seconds: 0, foreign: the
 * line was written on another phone }. After the team has agreed on a time (`clock.uncertain`), the anchor is the
 * reading at that moment with `seconds: agreed_s`.
 * `readings`: everything kept, oldest first, the present moment last. Earlier ones than the press do no harm. Keep one
 * at each start, at each `visibilitychange`, and every few seconds (the lines of the log are readings too).
 * `hidden`: true when the page was hidden at any moment since the reading before. It tells a phone that slept (the
 * count stood still: the wall clock is right) from a wall clock that was set (the count is right). Left out, it counts
 * as hidden, and a clock set forward by 29 minutes and more is then 'uncertain' where it need not be.
 * Readings of one start that agree may be thinned to the first and last of their stretch.
 *
 * THE RULE: the wall clock fails where it parts from the count in view, falls behind it, or goes back from one start to
 * the next; the count fails at each new start, and where the wall clock ran ahead while hidden. One failed: the other
 * tells the time. Both failed: `uncertain`, `seconds` null, show `wall_s` and `mono_s` (a least value after a new
 * start) and ask the team. `by: "wall"` means that nothing but the wall clock vouches: say so.
 */

/** Two clocks that part by less than this agree. */
const AGREE_MS = 200;
/** A network sets a clock right in steps of less than this. */
const STEP_MS = 1000;
/** The longest stretch for which the wall clock is believed alone. */
const UNSEEN_MS = 29 * 60 * 1000;

export interface ClockReading {
  at: number;
  mono: number;
  boot: string;
  hidden?: boolean;
}

export interface ClockAnchor {
  at: number;
  mono: number;
  boot: string;
  seconds: number;
  foreign: boolean;
}

export interface ClockAnswer {
  state: "certain" | "uncertain";
  seconds: number | null;
  by: "both" | "mono" | "wall" | "neither";
  wall_s: number;
  mono_s: number;
}

/** Seconds at the last of the readings. */
export function secondsSince(anchor: ClockAnchor, readings: readonly ClockReading[]): ClockAnswer {
  let { at, mono, boot } = anchor;
  let counted = 0;
  let moved = 0;
  let wallFailed = anchor.foreign;
  let monoFailed = anchor.foreign;
  for (const reading of after(anchor, readings)) {
    const wall = reading.at - at;
    if (reading.boot !== boot) {
      monoFailed = true;
      wallFailed ||= wall < -AGREE_MS || wall >= UNSEEN_MS;
    } else {
      const ran = reading.mono - mono;
      const ahead = wall - ran;
      counted += Math.max(ran, 0);
      if (ran < 0) {
        monoFailed = true; // no count does this: what was kept is damaged
      } else if (ahead < -AGREE_MS || (ahead > AGREE_MS && reading.hidden === false)) {
        moved += ahead;
        wallFailed ||= Math.abs(ahead) > STEP_MS;
      } else if (ahead > STEP_MS) {
        monoFailed = true;
        wallFailed ||= ahead >= UNSEEN_MS;
      } else if (ahead > AGREE_MS) {
        counted += ahead;
      }
    }
    ({ at, mono, boot } = reading);
  }
  const wall_s = anchor.seconds + (at - anchor.at) / 1000;
  const mono_s = anchor.seconds + counted / 1000;
  if (monoFailed && wallFailed) return { state: "uncertain", seconds: null, by: "neither", wall_s, mono_s };
  if (!monoFailed) {
    return { state: "certain", seconds: mono_s, by: wallFailed ? "mono" : "both", wall_s, mono_s };
  }
  const seconds = anchor.seconds + (at - anchor.at - moved) / 1000;
  return { state: "certain", seconds, by: "wall", wall_s, mono_s };
}

/** Those that follow the anchor; only the last where none is of the anchor's own start. */
function after(anchor: ClockAnchor, readings: readonly ClockReading[]): readonly ClockReading[] {
  if (readings.length === 0) throw new Error("no reading of the clocks");
  const own = readings.flatMap(({ boot }, i) => (boot === anchor.boot ? [i] : []));
  const first = own[0];
  if (first === undefined) return readings.slice(-1);
  const before = own.filter((i) => (readings[i] as ClockReading).mono <= anchor.mono).at(-1);
  if (before === undefined) return readings.slice(first);
  return before + 1 < readings.length ? readings.slice(before + 1) : readings.slice(-1);
}
