/** Opening the way out: one press from anywhere. The page is drawn first; the line is written behind it. */
import { signal } from "@preact/signals";
import { type CaseState, cameAfter, type Reaction, running } from "../../log";
import { app, caseHere } from "../app";
import { record } from "../record";
import { openOver, type Route, route } from "../router";
import type { Began } from "./remind";

/** Pressed, and not yet read back from the log: which case its lines stand under, and when by both clocks. */
export const pressed = signal<({ case: string } & Began) | null>(null);

/** A reaction of this phone that runs and was opened with no case. */
export function looseRunning(cases: readonly CaseState[], device: string | null): CaseState | undefined {
  return cases.find((c) => !c.opened && running(c)?.device === device);
}

/** Whose emergency the page over this address is: the case's that it names, else the one that runs with no case. */
export function caseOfEmergency(here: Route): CaseState | undefined {
  const id = caseHere(here);
  const cases = app.log.cases.value;
  const named = id === null ? undefined : cases.find((c) => c.id === id);
  return named ?? looseRunning(cases, app.log.device.value?.id ?? null);
}

/** Every sign that was ever said to be seen since the opening, one that was taken back too: the criteria only rise. */
export function everSeen(state: CaseState | undefined, reaction: Reaction): Set<string> {
  const taken = (state?.entries ?? []).filter(
    (e) => e.type === "reaction.sign" && e.written?.seen === true && state && cameAfter(state, e, reaction),
  );
  return new Set([...reaction.signs.keys(), ...taken.map((e) => String(e.written?.sign))]);
}

export const WHY_STOPPED = "emergency";
/** The id of the safety event 'reaction to the dye', in packs and in the log. */
export const DYE_REACTION = "dye_reaction";

/** Whether frames of a timed series are being asked for: a dye is in, or a layout is followed, and nobody stopped it. */
export function seriesRuns(state: Pick<CaseState, "laid" | "seriesStopped" | "dye" | "entries">): boolean {
  const laid = state.laid.at(-1);
  const stopped = state.seriesStopped.at(-1);
  if (stopped) return laid !== undefined && cameAfter(state, laid, stopped);
  return laid !== undefined || state.dye.injected.length > 0;
}

const WRITE_AT_LATEST_MS = 150;

export function openEmergency(): void {
  const here = route.peek();
  const write = here.over === "emergency" ? null : prepared(here);
  dropCaret();
  openOver("emergency");
  if (write) soon(write);
}

/** The caret that a tap leaves in a text would have all around it laid out, though the emergency page hides it. */
function dropCaret(): void {
  const caret = typeof getSelection === "function" ? getSelection() : null;
  if (caret?.isCollapsed) caret.removeAllRanges();
}

/** Starts the record from the page itself, where it does not run. */
export function begin(here: Route): void {
  prepared(here)?.();
}

/** Once the page is on the screen; at the latest after a moment, since a hidden page draws nothing. */
function soon(work: () => void): void {
  let waits = true;
  const once = (): void => {
    if (waits) work();
    waits = false;
  };
  // the second frame begins when the first, which shows the page, has been drawn
  requestAnimationFrame(() => requestAnimationFrame(once));
  setTimeout(once, WRITE_AT_LATEST_MS);
}

/** How to start the record; null where it runs already or nothing can be written. Where no case is open it stands
 * under an id of its own, to be attached later. */
function prepared(here: Route): (() => void) | null {
  const { log, shelf } = app;
  if (log.failure.peek() || log.device.peek() === null) return null;
  const state = caseOfEmergency(here);
  if (state && running(state)) return null;
  const id = state?.id ?? log.newCase();
  pressed.value = { case: id, ...log.reading(), device: log.device.peek()?.id ?? "" };
  const screen = here.page === "case" ? here.screen : here.page;
  const pack = state ? {} : { pack: shelf.current.peek()?.sha256 ?? null };
  return () => {
    void record("reaction.started", { screen }, { case: id, ...pack });
    if (state && seriesRuns(state))
      void record("series.stopped", { why: WHY_STOPPED, for_patient: true }, { case: id });
  };
}
