/**
 * What the phone's two clocks said while a dye's clock runs: time of day, and what the app has counted since its start.
 *
 * Kept beside the log, not in it: once a second would drown a case. Readings of one start that agree with each other
 * are one stretch, of which the first and the last are kept; so what is kept stays small, and shows each moment at
 * which a clock was set, stood still or began anew. Each start keeps a record of its own, which begins with what the
 * start before it had kept, so that two tabs never cut into each other's count.
 */
import type { ClockReading } from "../../kernel/clock";

const KEY = "chinrest-readings";
/** Less than what the kernel takes for agreement, so that a thinned stretch never reads as a clock that was set. */
const AGREE_MS = 150;
/** A phone that is restarted over and over keeps the newest of its stretches. */
const MOST_STRETCHES = 64;
const MOST_RECORDS = 3;

/** First and last of a stretch in which both clocks ran alike. */
export interface Stretch {
  first: ClockReading;
  last: ClockReading;
}

interface Kept {
  boot: string;
  stretches: Stretch[];
}

/** The stretches with one more reading. */
export function withReading(kept: readonly Stretch[], now: ClockReading): Stretch[] {
  const newest = kept.at(-1);
  if (newest !== undefined && newest.last.boot === now.boot) {
    const step = now.at - newest.last.at - (now.mono - newest.last.mono);
    const whole = now.at - newest.first.at - (now.mono - newest.first.mono);
    if (now.mono >= newest.last.mono && Math.abs(step) <= AGREE_MS && Math.abs(whole) <= AGREE_MS) {
      return [...kept.slice(0, -1), { first: newest.first, last: now }];
    }
  }
  return [...kept, { first: now, last: now }].slice(-MOST_STRETCHES);
}

/** All readings in order, as the kernel takes them. */
export function readingsOf(kept: readonly Stretch[]): ClockReading[] {
  return kept.flatMap(({ first, last }) => (first === last ? [first] : [first, last]));
}

/** What this start goes on from: its own record, or the newest of an earlier start. */
export function keptReadings(boot: string): Stretch[] {
  const all = records();
  return (all.find((one) => one.boot === boot) ?? all[0])?.stretches ?? [];
}

export function keepReadings(boot: string, stretches: Stretch[]): void {
  const others = records().filter((one) => one.boot !== boot);
  write([{ boot, stretches }, ...others].slice(0, MOST_RECORDS));
}

/** No dye's clock runs on this phone any more. */
export function dropReadings(): void {
  write([]);
}

function write(all: Kept[]): void {
  try {
    if (all.length === 0) localStorage.removeItem(KEY);
    else localStorage.setItem(KEY, JSON.stringify(all));
  } catch {
    // a full store: within this start the count goes on; after another one only the time of day is left
  }
}

/** Newest first. */
function records(): Kept[] {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(read) ? read.filter(isKept) : [];
  } catch {
    return []; // damaged or forbidden
  }
}

function isKept(value: unknown): value is Kept {
  const { boot, stretches } = (value ?? {}) as Partial<Kept>;
  return typeof boot === "string" && Array.isArray(stretches) && stretches.every(isStretch);
}

function isStretch(value: unknown): value is Stretch {
  const { first, last } = (value ?? {}) as Partial<Stretch>;
  return isReading(first) && isReading(last);
}

function isReading(value: unknown): value is ClockReading {
  const { at, mono, boot } = (value ?? {}) as Partial<ClockReading>;
  return typeof at === "number" && typeof mono === "number" && typeof boot === "string";
}
