/** What narrows the list of incidents. Filters live in the address, so that a view can be kept and sent. */

import type { IncidentRow } from "../types.gen";

export type State = IncidentRow["state"];
export const STATES: State[] = ["new", "in_review", "actions_open", "closed"];
export const PAGE_ROWS = 100;

export interface Filters {
  site: string;
  kind: "" | "event" | "near_miss";
  what: string;
  harm: string;
  review: "" | State;
  /** Only what has an open action past its day. */
  overdue: boolean;
  /** ISO days, both within; empty for no bound. */
  since: string;
  until: string;
  practice: boolean;
  q: string;
  /** From 1. */
  page: number;
}

export const NO_FILTERS: Filters = {
  site: "",
  kind: "",
  what: "",
  harm: "",
  review: "",
  overdue: false,
  since: "",
  until: "",
  practice: false,
  q: "",
  page: 1,
};

const DAY = /^\d{4}-\d\d-\d\d$/;
const dayOf = (text: string | null): string => (text && DAY.test(text) ? text : "");

export function filtersFrom(params: URLSearchParams): Filters {
  const kind = params.get("kind");
  const page = Number(params.get("page") ?? 1);
  return {
    site: params.get("site") ?? "",
    kind: kind === "event" || kind === "near_miss" ? kind : "",
    what: params.get("what") ?? "",
    harm: params.get("harm") ?? "",
    review: STATES.find((state) => state === params.get("review")) ?? "",
    overdue: params.get("overdue") === "1",
    since: dayOf(params.get("since")),
    until: dayOf(params.get("until")),
    practice: params.get("practice") === "1",
    q: params.get("q") ?? "",
    page: Number.isInteger(page) && page > 1 ? page : 1,
  };
}

/** For the address bar; what isn't set is left out. */
export function paramsOf(filters: Filters): URLSearchParams {
  const params = new URLSearchParams();
  for (const name of ["site", "kind", "what", "harm", "review", "since", "until"] as const) {
    if (filters[name]) params.set(name, filters[name]);
  }
  if (filters.overdue) params.set("overdue", "1");
  if (filters.practice) params.set("practice", "1");
  if (filters.q.trim()) params.set("q", filters.q.trim());
  if (filters.page > 1) params.set("page", String(filters.page));
  return params;
}

/** The server's own filter: it shows practice beside the rest only where it isn't told to leave it out. */
export function filterQuery(filters: Filters): URLSearchParams {
  const params = paramsOf({ ...filters, page: 1 });
  if (filters.practice) params.delete("practice");
  else params.set("practice", "0");
  return params;
}

/** The server's question for one page of the list. */
export function questionOf(filters: Filters): URLSearchParams {
  const params = filterQuery(filters);
  params.set("limit", String(PAGE_ROWS));
  if (filters.page > 1) params.set("offset", String((filters.page - 1) * PAGE_ROWS));
  return params;
}

/** The same, with how far its review is left open: what the queue's numbers are counted over. */
export function countsQuery(filters: Filters): URLSearchParams {
  return filterQuery({ ...filters, review: "", overdue: false });
}

export function isFiltered(filters: Filters): boolean {
  return [...paramsOf({ ...filters, practice: false, page: 1 }).keys()].length > 0;
}
