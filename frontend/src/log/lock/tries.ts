/** Wrong PINs: a few are free, then each makes the next wait longer, then only the server helps. Each person has their
 * own count, so that nobody can shut another out by guessing at a third one's PIN. */

/** `wrong`: tries since the last right one, the one under way included. `at`: wall time (ms) of the last. */
export interface Tries {
  wrong: number;
  at: number;
}

export const NO_TRIES: Tries = { wrong: 0, at: 0 };
const FREE = 3;
const FIRST_WAIT_MS = 30_000;
const LONGEST_WAIT_MS = 15 * 60_000;
/** So many wrong ones in a row, and the PIN opens nothing any more. */
export const MOST = 10;

export type May = { may: "try" } | { may: "wait"; ms: number } | { may: "server" };

/** A clock that was set back makes nobody wait longer than the wait is. Keep what this gives. */
export function onThisClock(tries: Tries, now: number): Tries {
  return tries.at > now ? { ...tries, at: now } : tries;
}

/** How long after the last of so many wrong tries. */
export function waitMs(wrong: number): number {
  return wrong < FREE ? 0 : Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (wrong - FREE));
}

/** Whether the next PIN is looked at. A clock that is set ahead shortens a wait; the number of tries it does not change. */
export function mayTry(tries: Tries, now: number): May {
  if (tries.wrong >= MOST) return { may: "server" };
  const { wrong, at } = onThisClock(tries, now);
  const ms = at + waitMs(wrong) - now;
  return wrong > 0 && ms > 0 ? { may: "wait", ms } : { may: "try" };
}

/** Counted, and kept, before the PIN is looked at: else closing the page in time would make every try free. */
export function begun(tries: Tries, now: number): Tries {
  return { wrong: tries.wrong + 1, at: now };
}
