/** What two people changed of one table, put together. Nobody's change takes the other's place unseen. */

import type { Row } from "./schema";

export interface Both {
  /** Theirs where only they changed, mine where I did. */
  value: Row;
  /** Keys that only they changed. */
  theirs: string[];
  /** Keys that both changed, to different values. */
  both: string[];
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

export function together(was: Row, mine: Row, theirs: Row): Both {
  const made: Both = { value: {}, theirs: [], both: [] };
  for (const key of new Set([...Object.keys(theirs), ...Object.keys(mine)])) {
    const iChanged = !same(was[key], mine[key]);
    const theyChanged = !same(was[key], theirs[key]);
    const differ = !same(mine[key], theirs[key]);
    if (theyChanged && differ) made[iChanged ? "both" : "theirs"].push(key);
    const kept = iChanged ? mine[key] : theirs[key];
    if (kept !== undefined) made.value[key] = kept;
  }
  return made;
}
