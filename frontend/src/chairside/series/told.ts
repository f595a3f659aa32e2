/** Seconds since each dye, as the watch over the clocks last told them; small, so that any screen may read it. */
import { signal } from "@preact/signals";

/** By case, then by dye. Null while the clock is uncertain; nothing while the watch is not yet read in. */
export const secondsSinceDye = signal<Readonly<Record<string, Readonly<Record<string, number | null>>>>>({});

/** When a dye was given, on this phone's time of day as it is now set, ms; `pressed_at` until the watch tells it. */
export function givenAt(id: string, dye: string, pressed_at: number): number {
  const seconds = secondsSinceDye.value[id]?.[dye];
  return seconds === undefined || seconds === null ? pressed_at : Date.now() - seconds * 1000;
}
