/**
 * What the phone's two clocks said while a dye's clock runs: time of day, and what the app has counted since its start.
 *
 * Kept beside the log, not in it: once a second would drown a case. Readings of one start that agree with each other
 * are one stretch, of which the first and the last are kept; so what is kept stays small, and shows each moment at
 * which a clock was set, stood still or began anew.
 */
import type { Reading } from "../../log";

const KEY = "chinrest-readings";
/** Two clocks of one phone drift by far less than this in the length of a series; a clock that is set moves more. */
export const AGREE_MS = 150;
/** A phone that is restarted over and over keeps the newest of its stretches. */
const MOST = 64;

/** First and last of a stretch in which both clocks ran alike. */
export interface Stretch {
  first: Reading;
  last: Reading;
}

/** The stretches with one more reading. */
export function withReading(kept: readonly Stretch[], now: Reading): Stretch[] {
  const newest = kept.at(-1);
  if (newest !== undefined && newest.last.boot === now.boot) {
    const wall = now.at - newest.last.at;
    const counted = now.mono - newest.last.mono;
    const whole = now.at - newest.first.at - (now.mono - newest.first.mono);
    if (counted >= 0 && Math.abs(wall - counted) <= AGREE_MS && Math.abs(whole) <= 4 * AGREE_MS) {
      return [...kept.slice(0, -1), { first: newest.first, last: now }];
    }
  }
  return [...kept, { first: now, last: now }].slice(-MOST);
}

/** All readings in order, as the kernel takes them. */
export function readingsOf(kept: readonly Stretch[]): Reading[] {
  return kept.flatMap(({ first, last }) =>
    last.mono === first.mono && last.at === first.at ? [first] : [first, last],
  );
}

export function keptReadings(): Stretch[] {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(read) ? read.filter(isStretch) : [];
  } catch {
    return []; // damaged or forbidden: the lines of the log still carry both clocks
  }
}

export function keepReadings(kept: readonly Stretch[]): void {
  try {
    if (kept.length === 0) localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // a full store: within this start the count goes on; after another one the clock asks the team
  }
}

function isStretch(value: unknown): value is Stretch {
  const { first, last } = (value ?? {}) as Partial<Stretch>;
  return isReading(first) && isReading(last);
}

function isReading(value: unknown): value is Reading {
  const { at, mono, boot } = (value ?? {}) as Partial<Reading>;
  return typeof at === "number" && typeof mono === "number" && typeof boot === "string";
}
