/** A press that counts only when it was held. Pure: the screen feeds it presses and the time. */

export const HOLD_MS = 1000;

/** When a press began, by both clocks: the wall's, and the one that no change of the wall's moves. */
export interface Began {
  wall: number;
  mono: number;
}

/** 0 at the press, 1 once it has been held long enough. */
export function heldPart(began: Began | null, mono: number): number {
  if (began === null) return 0;
  return Math.min(1, Math.max(0, (mono - began.mono) / HOLD_MS));
}

/** Keys that hold a button down. A key that repeats while it is held is the same press. */
export function holdsKey(key: string): boolean {
  return key === " " || key === "Enter";
}
