/** Single keys for those who go through many incidents. They can be turned off, and never act while somebody types. */

import { signal } from "@preact/signals";

export type Act = "down" | "up" | "search" | "help";

const ACTS: Record<string, Act> = {
  j: "down",
  ArrowDown: "down",
  k: "up",
  ArrowUp: "up",
  "/": "search",
  "?": "help",
};

export interface Press {
  key: string;
  ctrlKey: boolean;
  metaKey: boolean;
  altKey: boolean;
  defaultPrevented: boolean;
  isComposing?: boolean;
}

/** What holds the focus, as far as keys are concerned. */
export interface Place {
  tag: string;
  editable: boolean;
  /** On the link of a row. */
  row: boolean;
  dialog: boolean;
}

/**
 * What a key asks for, or nothing. Letters work anywhere but where text is written or a value is picked; arrows only on
 * a row, since they scroll everywhere else.
 */
export function actOf(press: Press, place: Place, on: boolean): Act | null {
  if (press.ctrlKey || press.metaKey || press.altKey || press.defaultPrevented || press.isComposing)
    return null;
  if (place.dialog || place.editable || ["INPUT", "SELECT", "TEXTAREA"].includes(place.tag)) return null;
  const act = ACTS[press.key] ?? null;
  if (press.key.startsWith("Arrow")) return place.row ? act : null;
  return on ? act : null;
}

/** The row to go to from `at` (-1 for none) among `count`; it stops at the ends. */
export function nextRow(at: number, act: "down" | "up", count: number): number {
  if (count === 0) return -1;
  if (at < 0) return act === "down" ? 0 : count - 1;
  return Math.max(0, Math.min(count - 1, at + (act === "down" ? 1 : -1)));
}

const KEY = "chinrest-desk-keys";

function kept(): boolean {
  try {
    return localStorage.getItem(KEY) !== "off";
  } catch {
    return true; // storage is forbidden in this browser: as it is out of the box
  }
}

export const keysOn = signal(kept());

export function turnKeys(on: boolean): void {
  keysOn.value = on;
  try {
    localStorage.setItem(KEY, on ? "on" : "off");
  } catch {
    // storage is forbidden in this browser: the choice holds until the page is closed
  }
}
