/** What was typed into a form and not saved yet: kept by this browser tab, so that a reload or another page loses nothing. */

import type { Row } from "./schema";

export interface Unsaved {
  /** The save that it changes, and the table as that has it. */
  number: number;
  was: Row;
  value: Row;
}

const name = (draft: string, place: string): string => `chinrest-draft ${draft} ${place}`;

export function unsavedAt(draft: string, place: string): Unsaved | null {
  try {
    const text = sessionStorage.getItem(name(draft, place));
    return text ? (JSON.parse(text) as Unsaved) : null;
  } catch {
    return null; // no storage here, or what is in it is not ours
  }
}

export function keepUnsaved(draft: string, place: string, kept: Unsaved | null): void {
  try {
    if (kept) sessionStorage.setItem(name(draft, place), JSON.stringify(kept));
    else sessionStorage.removeItem(name(draft, place));
  } catch {
    // no storage, or it is full: the form itself still holds it
  }
}
