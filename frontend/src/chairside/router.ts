/** Where the person is, as the part of the address after `#`, so that a reload or a crash comes back to it. */
import { computed, signal } from "@preact/signals";

/** What lies over a screen and goes back to it. */
export const OVERLAYS = [
  "comfort",
  "event",
  "emergency",
  "history",
  "finish",
  "unfinished",
  "steps",
] as const;
export type Overlay = (typeof OVERLAYS)[number];

export type Place =
  | { page: "home" }
  | { page: "new" }
  | { page: "settings" }
  | { page: "unsent" }
  | Aside
  | { page: "enrol"; code: string }
  | { page: "case"; id: string; screen: string; tail: string[] };

/** Held before the patient, beside the case: `#/light/CASE`, `#/card/PHRASE/CASE`; what is left out is picked there. */
export interface Aside {
  page: "light" | "card";
  tail: string[];
}

export type Route = Place & { over: Overlay | null };

/** An address that means nothing leads home, where everything can be found. */
export function parseRoute(hash: string): Route {
  const text = hash.replace(/^#/, "");
  if (text.startsWith("enrol="))
    return { page: "enrol", code: decode(text.slice("enrol=".length)), over: null };
  const [path = "", query = ""] = text.split("?");
  const asked = new URLSearchParams(query).get("over");
  const over = OVERLAYS.find((o) => o === asked) ?? null;
  const parts = path.split("/").filter(Boolean).map(decode);
  const [page, id, screen = "step", ...tail] = parts;
  if (page === "case" && id) return { page, id, screen, tail, over };
  if (page === "light" || page === "card") return { page, tail: parts.slice(1), over };
  if (page === "new" || page === "settings" || page === "unsent") return { page, over };
  return { page: "home", over };
}

export function formatRoute(to: Place & { over?: Overlay | null }): string {
  if (to.page === "enrol") return `#enrol=${encodeURIComponent(to.code)}`;
  const rest = to.page === "case" ? [to.id, to.screen, ...to.tail] : "tail" in to ? to.tail : [];
  const parts = to.page === "home" ? [] : [to.page, ...rest];
  return `#/${parts.map(encodeURIComponent).join("/")}${to.over ? `?over=${to.over}` : ""}`;
}

/** The case that the address names, whatever is shown of it: what is logged over it belongs there. */
export function caseInAddress(here: Route): string | null {
  if (here.page === "case") return here.id;
  if (here.page === "light") return here.tail[0] ?? null;
  return here.page === "card" ? (here.tail[1] ?? null) : null;
}

/** Address of a screen of a case, for links: `hrefOf(id, "position", "right")`. */
export function hrefOf(id: string, screen: string, ...tail: string[]): string {
  return formatRoute({ page: "case", id, screen, tail });
}

function decode(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part; // a damaged address is taken as it stands; it will lead home
  }
}

export const route = signal<Route>({ page: "home", over: null });

/** The address without what lies over it. A screen that follows this alone is not drawn anew when something is laid
 * over it, so that the way out stands there at once. */
export const place = computed(() => formatRoute({ ...route.value, over: null }));
const opened = new Map(OVERLAYS.map((one) => [one, computed(() => route.value.over === one)]));

/** Whether this lies over the screen; whoever asks is drawn anew only when that changes. */
export function isOver(over: Overlay): boolean {
  return opened.get(over)?.value === true;
}

/** An overlay is being taken away by the browser's own 'back', which happens later than it is asked for. */
let goingBack = false;
/** Where to go once that has happened: a place pushed before it would be what 'back' takes away. */
let afterBack: { hash: string; state: unknown } | null = null;

/** Starts listening. Call once, in the page. */
export function startRouter(): void {
  const read = () => {
    route.value = parseRoute(location.hash);
  };
  addEventListener("hashchange", () => {
    if (!goingBack) read();
  });
  addEventListener("popstate", () => {
    const next = afterBack;
    goingBack = false;
    afterBack = null;
    if (next !== null && next.hash !== location.hash) history.pushState(next.state, "", next.hash);
    read();
  });
  read();
}

/** Goes somewhere. From an overlay it takes the overlay's place, so that 'back' never reopens it. A screen that puts
 * its own address right never takes the emergency away that was opened over it in between. */
export function go(to: Place & { over?: Overlay | null }, how: { replace?: boolean } = {}): void {
  const keeps = how.replace === true && to.over === undefined && route.peek().over === "emergency";
  const hash = formatRoute(keeps ? { ...to, over: "emergency" } : to);
  if (goingBack) afterBack = { hash, state: null };
  else if (keeps) history.replaceState(history.state, "", hash);
  else if (how.replace || route.value.over) history.replaceState(null, "", hash);
  else history.pushState(null, "", hash);
  route.value = parseRoute(hash);
  if (!to.over) scrollTo(0, 0);
}

/** Goes to a screen of a case: `goCase(id, "position", "right")`. */
export function goCase(id: string, screen: string, ...tail: string[]): void {
  go({ page: "case", id, screen, tail });
}

/** Lays an overlay over what is there. The phone's own 'back' takes it away again. */
export function openOver(over: Overlay): void {
  const hash = formatRoute({ ...route.value, over });
  if (goingBack) afterBack = { hash, state: { laid: true } };
  else if (route.value.over) history.replaceState(history.state, "", hash);
  else history.pushState({ laid: true }, "", hash);
  route.value = parseRoute(hash);
}

export function closeOver(): void {
  if (!route.value.over) return;
  const laid = (history.state as { laid?: boolean } | null)?.laid === true;
  route.value = { ...route.value, over: null };
  // one is on its way: a second 'back' would go past the place that is under both overlays, and out of the app
  if (goingBack) afterBack = { hash: formatRoute(route.value), state: null };
  else if (laid) {
    goingBack = true;
    history.back();
  } else history.replaceState(null, "", formatRoute(route.value));
}
