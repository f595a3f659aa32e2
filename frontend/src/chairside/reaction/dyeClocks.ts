/** The dyes of a case and when each went in: their clocks go on through an emergency. */
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { givenAt } from "../series/told";

export interface DyeClock {
  dye: string;
  /** Wall time of the press, ms; or what the team agreed on, where the phone's clocks could not say. */
  from: number;
}

/** One clock for each dye, from its first injection. */
export function dyeClocks(state: CaseState | undefined): DyeClock[] {
  const clocks = new Map<string, DyeClock>();
  for (const { body } of state?.dye.injected ?? []) {
    if (!clocks.has(body.dye)) clocks.set(body.dye, { dye: body.dye, from: body.pressed_at });
  }
  for (const { at, body } of state?.clockUncertain ?? []) {
    const clock = clocks.get(body.dye);
    if (clock && typeof body.agreed_s === "number") clock.from = at - body.agreed_s * 1000;
  }
  // the time of day may have been set since: the watch over both clocks knows better
  return [...clocks.values()].map(({ dye, from }) => ({ dye, from: givenAt(state?.id ?? "", dye, from) }));
}

/** Seconds since the latest dye went in, for a record; null where none did. */
export function dyeSeconds(state: CaseState, at: number): number | null {
  const from = dyeClocks(state).map((clock) => clock.from);
  return from.length === 0 ? null : Math.max(0, Math.round((at - Math.max(...from)) / 1000));
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
