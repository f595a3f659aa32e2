/** Which packs a page is about where its address does not say: the one in force, and the newest. */

import type { PackRow } from "../../types.gen";
import { moment } from "../when";

export const newestFirst = (rows: readonly PackRow[]): PackRow[] =>
  [...rows].sort((a, b) => b.received_at - a.received_at);

/** The pack that most sites have in force; the newest where none has any. */
export function inForce(rows: readonly PackRow[]): PackRow | null {
  const sorted = newestFirst(rows).sort((a, b) => b.in_force.length - a.in_force.length);
  return sorted[0] ?? null;
}

/** The pack to look at next: the newest that is in force nowhere and not recalled, else the one in force. */
export function next(rows: readonly PackRow[]): PackRow | null {
  const waiting = newestFirst(rows).find((row) => row.in_force.length === 0 && row.recalls.length === 0);
  return waiting ?? inForce(rows);
}

/** What a pack is called in a list. */
export function packName(row: PackRow): string {
  const state =
    row.recalls.length > 0
      ? "recalled"
      : row.in_force.length > 0
        ? "in force"
        : `received ${moment(row.received_at)}`;
  return `${row.version}, ${row.sha256.slice(0, 8)}, ${state}`;
}
