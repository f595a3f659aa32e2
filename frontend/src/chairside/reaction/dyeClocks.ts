/** The dyes of a case: their clocks go on through an emergency. */
import { type ClockAnswer, type ClockReading, secondsSince } from "../../kernel/clock";
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { anchorsOf } from "../series/clocks";

export interface DyeClock extends ClockAnswer {
  dye: string;
}

/** One clock for each dye, from its first injection or from what the team agreed on since, in the order of injection. */
export function dyeClocks(
  state: CaseState | undefined,
  device: string | null,
  readings: readonly ClockReading[],
): DyeClock[] {
  if (state === undefined) return [];
  return [...anchorsOf(state, device)].map(([dye, anchor]) => ({ dye, ...secondsSince(anchor, readings) }));
}

/** Whole seconds of a clock, for a record; null where they are not known. */
export function secondsOf(clock: ClockAnswer | undefined): number | null {
  const seconds = clock?.seconds ?? null;
  return seconds === null ? null : Math.max(0, Math.round(seconds));
}

/** Seconds since the latest dye went in, for a record; null where none did, or its clock is uncertain. */
export function dyeSeconds(
  state: CaseState,
  device: string | null,
  readings: readonly ClockReading[],
): number | null {
  return secondsOf(dyeClocks(state, device, readings).at(-1));
}

/** What a dye is for, as the pack says; where the pack does not know it, its id is the best that there is. */
export function modalityOf(pack: Pick<Pack, "dyes"> | null, dye: string): string {
  return pack?.dyes?.find((d) => d.id === dye)?.modality ?? dye;
}

/** `Indocyanine green` for `indocyanine_green`. */
export function dyeName(id: string): string {
  const words = id.replace(/[_-]/g, " ");
  return words.charAt(0).toUpperCase() + words.slice(1);
}
