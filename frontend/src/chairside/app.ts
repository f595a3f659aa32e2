/** The log and the shelf that this page runs on, once they are open; and small ways to reach them. */
import { signal } from "@preact/signals";
import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { CaseState, Log } from "../log";
import type { Held, Shelf } from "../pack";
import { caseInAddress, type Route } from "./router";

let joined: { log: Log; shelf: Shelf } | null = null;

/** Called once by main, before anything is drawn that needs them. */
export function join(log: Log, shelf: Shelf): void {
  joined = { log, shelf };
}

function opened(): { log: Log; shelf: Shelf } {
  if (!joined) throw new Error("The log is used before it is open.");
  return joined;
}

export const app = {
  get log(): Log {
    return opened().log;
  },
  get shelf(): Shelf {
    return opened().shelf;
  },
};

/** Who says that they do what is logged: initials or a staff id, as typed in settings. Kept on this phone. */
export const actor = signal<string | null>(null);

/** What stands in place of every page on a phone with PINs: it is locked, or asks something first. */
export const shut = signal<ComponentType | null>(null);

export function isLocked(): boolean {
  return app.log.lockView.value.state === "locked";
}

/** The case that what is logged now belongs to: the address names it, or on a locked phone it is the one in hand. */
export function caseHere(here: Route): string | null {
  if (!isLocked()) return caseInAddress(here);
  return app.log.cases.value.find((c) => c.opened)?.id ?? null;
}

export interface Guidance {
  held: Held;
  /** False when the pack that the case began with is not on this phone and the current one stands in. */
  own: boolean;
}

const found = new Map<string, Held>();

/** The pack that guides a case: the one it began with. Undefined while it is looked for, null when there is none. */
export function useGuidance(state: CaseState | undefined): Guidance | null | undefined {
  const sha = state?.pack ?? null;
  const current = app.shelf.current.value;
  const near = sha === null ? null : current?.sha256 === sha ? current : found.get(sha);
  const [looked, setLooked] = useState<string | null>(null);
  useEffect(() => {
    if (sha === null || near) return;
    let gone = false;
    void app.shelf
      .packFor(sha)
      .then((held) => {
        if (held) found.set(sha, held);
      })
      .finally(() => {
        if (!gone) setLooked(sha);
      });
    return () => {
      gone = true;
    };
  }, [sha, near]);
  if (near) return { held: near, own: true };
  if (sha !== null && looked !== sha) return undefined;
  return current ? { held: current, own: sha === null } : null;
}

/** The pack that a line of this case is written under: the one that its screens go by. */
export function packInUse(state: CaseState): string | null {
  const current = app.shelf.current.peek();
  if (state.pack === null || current === null) return state.pack ?? current?.sha256 ?? null;
  return state.pack === current.sha256 || found.has(state.pack) ? state.pack : current.sha256;
}

const ACTOR_KEY = "chinrest-actor";
const ACTOR_AT_KEY = "chinrest-actor-at";
const SHIFT_MS = 12 * 3_600_000;

/** Then whoever unlocked the phone is who works on it. */
export function hasPins(): boolean {
  return app.log.lockView.value.state !== "open";
}

/** True when nobody is named, or the name is from an earlier shift: then the next case asks who works here. */
export function askWho(now: number): boolean {
  if (hasPins()) return false;
  if (actor.value === null) return true;
  try {
    return now - Number(localStorage.getItem(ACTOR_AT_KEY) ?? 0) > SHIFT_MS;
  } catch {
    return false; // no store: whoever is named was named on this page
  }
}

/** Reads who works on this phone, as last typed in settings. */
export function startActor(): void {
  try {
    actor.value = localStorage.getItem(ACTOR_KEY);
  } catch {
    // no store: lines then name nobody until it is typed again
  }
}

export function setActor(text: string): void {
  const tidy = text.trim().slice(0, 40);
  actor.value = tidy === "" ? null : tidy;
  if (hasPins()) return; // whoever unlocked it, until it is locked
  try {
    if (tidy === "") localStorage.removeItem(ACTOR_KEY);
    else {
      localStorage.setItem(ACTOR_KEY, tidy);
      localStorage.setItem(ACTOR_AT_KEY, String(Date.now()));
    }
  } catch {
    // it holds until the page is closed
  }
}

/** Nothing of it stays in the browser's store: the first PIN was set. */
export function forgetActor(): void {
  try {
    localStorage.removeItem(ACTOR_KEY);
    localStorage.removeItem(ACTOR_AT_KEY);
  } catch {
    // no store, so nothing is kept there
  }
}
