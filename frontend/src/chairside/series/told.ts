/** Seconds since each dye, as the watch over the clocks last told them; small, so that any screen may read it. */
import { signal } from "@preact/signals";
import type { Modality, Pack } from "../../types.gen";

/** By case, then by dye. Null while the clock is uncertain; nothing while the watch is not yet read in. */
export const secondsSinceDye = signal<Readonly<Record<string, Readonly<Record<string, number | null>>>>>({});

/** Seconds since the dye for this kind of image, in tenths, as a frame's line has them; null where nobody can tell. */
export function secondsFor(pack: Pick<Pack, "dyes">, id: string, modality: Modality): number | null {
  const dye = pack.dyes?.find((one) => one.modality === modality)?.id;
  const seconds = dye === undefined ? undefined : secondsSinceDye.value[id]?.[dye];
  return seconds === undefined || seconds === null ? null : Math.round(seconds * 10) / 10;
}
