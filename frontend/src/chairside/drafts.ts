/** What is half entered, kept beside the page so that a reload or a crash gives it back. Never part of the log. */
import { useEffect, useState } from "preact/hooks";

const PREFIX = "chinrest-draft:";
/** The one draft that belongs to no case; every other key holds the id of its own. */
export const NEW_CASE = "new-case";

function dropDraft(key: string): void {
  try {
    localStorage.removeItem(PREFIX + key);
  } catch {
    // no store, so there is no draft either
  }
}

/** Forgets what was half entered for cases that are on this phone no longer. */
export function tidyDrafts(cases: readonly string[]): void {
  try {
    for (const key of Object.keys(localStorage)) {
      const ofCase = key.startsWith(PREFIX) && key !== PREFIX + NEW_CASE;
      if (ofCase && !cases.some((id) => key.includes(id))) localStorage.removeItem(key);
    }
  } catch {
    // no store, so there is no draft either
  }
}

function readDraft<T>(key: string): T | null {
  try {
    const kept = localStorage.getItem(PREFIX + key);
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
        localStorage.setItem(PREFIX + key, JSON.stringify(next));
      } catch {
        // a full store: the entry still holds until the page is left
      }
      return next;
    });
  return [value, change, () => dropDraft(key)];
}
