/** Named filters, kept in this browser only, for the person who named them. */

import { filtersFrom, paramsOf } from "./filters";

export interface View {
  name: string;
  /** As in the address, without its page. */
  query: string;
}

const LIMIT = 30;
const key = (person: string) => `chinrest-desk-views:${person}`;

/** The query in one order and without a page, so that the same view is found again. */
export const tidyQuery = (query: string): string =>
  paramsOf({ ...filtersFrom(new URLSearchParams(query)), page: 1 }).toString();

/** What was kept, as far as it can be read: storage is the browser's and may hold anything. */
export function viewsFrom(text: string | null): View[] {
  let found: unknown;
  try {
    found = JSON.parse(text ?? "[]");
  } catch {
    return []; // not ours, or damaged: nothing to show
  }
  if (!Array.isArray(found)) return [];
  return found
    .filter((one): one is View => typeof one?.name === "string" && typeof one?.query === "string")
    .map((one) => ({ name: one.name, query: tidyQuery(one.query) }))
    .slice(0, LIMIT);
}

/** A name that is there already is given to the new filters. */
export function withView(views: readonly View[], name: string, query: string): View[] {
  const tidy = name.trim().slice(0, 60);
  if (!tidy) return [...views];
  const made = { name: tidy, query: tidyQuery(query) };
  const others = views.filter((view) => view.name !== tidy);
  return [...others, made].sort((a, b) => a.name.localeCompare(b.name)).slice(0, LIMIT);
}

export function keptViews(person: string): View[] {
  try {
    return viewsFrom(localStorage.getItem(key(person)));
  } catch {
    return []; // storage is forbidden in this browser
  }
}

/** False where this browser keeps nothing. */
export function keepViews(person: string, views: readonly View[]): boolean {
  try {
    localStorage.setItem(key(person), JSON.stringify(views));
    return true;
  } catch {
    return false;
  }
}
