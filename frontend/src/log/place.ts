/** Which of two lines came first: by their places among the case's lines, never by the time that a phone claimed. A
 * time of day that is set back would turn them round. Pure. */
import type { CaseState } from "./case";

type Lines = Pick<CaseState, "entries">;

const known = new WeakMap<Lines["entries"], Map<string, number>>();

/** Place of a line among the case's lines; -1 where it is not among them, and so before all that are. */
function placeOf({ entries }: Lines, line: string): number {
  let places = known.get(entries);
  if (places?.size !== entries.length) {
    places = new Map(entries.map((entry, i) => [entry.line, i]));
    known.set(entries, places);
  }
  return places.get(line) ?? -1;
}

/** Whether a line came after another; after none at all, any line did. */
export function cameAfter(state: Lines, one: { line: string }, other: { line: string } | undefined): boolean {
  return other === undefined || placeOf(state, one.line) > placeOf(state, other.line);
}

/** What was noted, from several lists, as it came. */
export function asItCame<T extends { line: string }>(state: Lines, noted: readonly T[]): T[] {
  return [...noted].sort((a, b) => placeOf(state, a.line) - placeOf(state, b.line));
}
