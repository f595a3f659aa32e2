/** What narrows the list of incidents. Filters live in the address, so that a view can be kept and sent. */

export interface Filters {
  site: string;
  kind: "" | "event" | "near_miss";
  what: string;
  harm: string;
  practice: boolean;
  q: string;
}

export const NO_FILTERS: Filters = { site: "", kind: "", what: "", harm: "", practice: false, q: "" };

export function filtersFrom(params: URLSearchParams): Filters {
  const kind = params.get("kind");
  return {
    site: params.get("site") ?? "",
    kind: kind === "event" || kind === "near_miss" ? kind : "",
    what: params.get("what") ?? "",
    harm: params.get("harm") ?? "",
    practice: params.get("practice") === "1",
    q: params.get("q") ?? "",
  };
}

/** For the address bar; what isn't set is left out. */
export function paramsOf(filters: Filters): URLSearchParams {
  const params = new URLSearchParams();
  if (filters.site) params.set("site", filters.site);
  if (filters.kind) params.set("kind", filters.kind);
  if (filters.what) params.set("what", filters.what);
  if (filters.harm) params.set("harm", filters.harm);
  if (filters.practice) params.set("practice", "1");
  if (filters.q.trim()) params.set("q", filters.q.trim());
  return params;
}

/** The server's own question: it shows practice beside the rest only where it isn't told to leave it out. */
export function questionOf(filters: Filters): URLSearchParams {
  const params = paramsOf(filters);
  if (filters.practice) params.delete("practice");
  else params.set("practice", "0");
  return params;
}

export function isFiltered(filters: Filters): boolean {
  return [...paramsOf(filters).keys()].some((key) => key !== "practice");
}
