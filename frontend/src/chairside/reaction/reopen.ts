/** A page that was killed in mid-emergency opens there again, whatever address the phone starts it with. */
import { running } from "../../log";
import { app, isLocked } from "../app";
import { go, openOver, route } from "../router";

const KEY = "chinrest-emergency";

/** The emergency of this case is on the screen. */
export function rememberOpen(id: string): void {
  try {
    localStorage.setItem(KEY, id);
  } catch {
    // no store: the strip on every screen still leads back
  }
}

export function forgetOpen(): void {
  try {
    localStorage.removeItem(KEY);
  } catch {
    // no store, so nothing is remembered either
  }
}

/** Called once, when the log has been read. */
export function reopenEmergency(): void {
  let id: string | null = null;
  try {
    id = localStorage.getItem(KEY);
  } catch {
    return;
  }
  const state = id === null ? undefined : app.log.caseOf(id);
  if (!state || !running(state)) {
    forgetOpen();
    return;
  }
  if (route.peek().over === "emergency") return;
  if (state.opened && !isLocked()) go({ page: "case", id: state.id, screen: "step", tail: [] });
  else if (!isLocked()) go({ page: "home" });
  openOver("emergency");
}
