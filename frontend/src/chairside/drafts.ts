/** What is half entered, kept beside the page so that a reload or a crash gives it back. Never part of the log. */
import { useEffect, useState } from "preact/hooks";

const PREFIX = "chinrest-draft:";
/** The one draft that belongs to no case; every other key holds the id of its own. */
export const NEW_CASE = "new-case";

/** Where drafts are kept. Each may raise where the browser has no store. */
export interface DraftStore {
  read(key: string): string | null;
  write(key: string, text: string): void;
  drop(key: string): void;
  keys(): string[];
}

/** As they are, in the browser's own store. */
export const IN_THE_CLEAR: DraftStore = {
  read: (key) => localStorage.getItem(PREFIX + key),
  write: (key, text) => localStorage.setItem(PREFIX + key, text),
  drop: (key) => localStorage.removeItem(PREFIX + key),
  keys: () =>
    Object.keys(localStorage)
      .filter((name) => name.startsWith(PREFIX))
      .map((name) => name.slice(PREFIX.length)),
};

let store = IN_THE_CLEAR;

/** From now on they are kept there: a phone with PINs keeps none in the clear. */
export function keepDraftsIn(other: DraftStore): void {
  store = other;
}

function dropDraft(key: string): void {
  try {
    store.drop(key);
  } catch {
    // no store, so there is no draft either
  }
}

/** Forgets what was half entered for cases that are on this phone no longer. */
export function tidyDrafts(cases: readonly string[]): void {
  try {
    for (const key of store.keys()) {
      if (key !== NEW_CASE && !cases.some((id) => key.includes(id))) store.drop(key);
    }
  } catch {
    // no store, so there is no draft either
  }
}

function readDraft<T>(key: string): T | null {
  try {
    const kept = store.read(key);
    return kept === null ? null : (JSON.parse(kept) as T);
  } catch {
    return null; // damaged or forbidden: begin afresh
  }
}

/** State that survives a reload. `drop` forgets it, once what was entered stands in the log. */
export function useDraft<T extends object>(
  key: string,
  start: T,
): [T, (change: Partial<T>) => void, () => void] {
  const [value, setValue] = useState<T>(() => ({ ...start, ...readDraft<Partial<T>>(key) }));
  useEffect(() => {
    setValue({ ...start, ...readDraft<Partial<T>>(key) });
    // `start` only matters when the key changes
  }, [key]);
  const change = (part: Partial<T>) =>
    setValue((before) => {
      const next = { ...before, ...part };
      try {
        store.write(key, JSON.stringify(next));
      } catch {
        // a full store: the entry still holds until the page is left
      }
      return next;
    });
  return [value, change, () => dropDraft(key)];
}
