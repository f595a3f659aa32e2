/** The desk's addresses: everything that a page shows can be named by a link, kept and sent. */

export const PAGES = [
  "incidents",
  "incident",
  "report",
  "rates",
  "charts",
  "craft",
  "summary",
  "case",
  "devices",
  "enrol",
  "packs",
  "difference",
  "fits",
  "rollout",
  "drafts",
  "draft",
  "retention",
  "people",
  "account",
  "invitation",
] as const;
export type Page = (typeof PAGES)[number];

/** Pages that may be about one thing. */
const WITH_ID: Page[] = ["fits", "draft", "invitation"];

export interface Route {
  page: Page;
  id: string | null;
  params: URLSearchParams;
}

/** `#/case/ID?line=LINE` and the like; whatever it can't read is the list of incidents. */
export function parseRoute(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?", 2);
  const [page = "", id = ""] = path.split("/");
  const known = PAGES.find((p) => p === page) ?? "incidents";
  const named = known === "case" || known === "incident";
  const plain = named || WITH_ID.includes(known) ? decoded(id) : "";
  if (named && !plain) return { page: "incidents", id: null, params: new URLSearchParams() };
  return { page: known, id: plain || null, params: new URLSearchParams(query) };
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return ""; // a mangled link: it names nothing
  }
}

export function hrefOf(page: Page, id: string | null = null, params?: URLSearchParams): string {
  const query = params?.toString();
  return `#/${page}${id ? `/${encodeURIComponent(id)}` : ""}${query ? `?${query}` : ""}`;
}
