/** How the lines of a case stand after their amendments, and which of them the desk itself wrote. */

import type { BodyOf, LineAmended, Timeline, TimelineEntry } from "../types.gen";

type Body = Record<string, unknown>;

/** The body as it stands; null where it was withdrawn or erased. */
export function standingBody(entry: TimelineEntry, byId: ReadonlyMap<string, TimelineEntry>): Body | null {
  const amender = entry.amended_by ? byId.get(entry.amended_by) : undefined;
  if (!amender || amender === entry) return entry.body;
  const said = standingBody(amender, byId) as unknown as LineAmended | null;
  return said ? (said.body as Body | null) : entry.body;
}

export interface Standing<T extends keyof BodyOf> {
  entry: TimelineEntry;
  body: BodyOf[T];
}

/** The lines of one type that stand, in order. */
export function standingOf<T extends keyof BodyOf>(timeline: Timeline, type: T): Standing<T>[] {
  const byId = new Map(timeline.entries.map((entry) => [entry.id, entry]));
  return timeline.entries
    .filter((entry) => entry.type === type && entry.known)
    .map((entry) => ({ entry, body: standingBody(entry, byId) as unknown as BodyOf[T] | null }))
    .filter((line): line is Standing<T> => line.body !== null);
}

/** Written by somebody who was signed in at the desk, or by a rule that was set there. */
export const isDeskLine = (type: string): boolean =>
  type === "case.read" ||
  type === "bodies.erased" ||
  type === "log.exported" ||
  type.startsWith("incident.") ||
  type.startsWith("action.");
