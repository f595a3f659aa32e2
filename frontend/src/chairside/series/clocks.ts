/** One clock for each dye of a case: from its injection, or from what the team agreed on since. Pure. */
import { type ClockAnchor, type ClockAnswer, type ClockReading, secondsSince } from "../../kernel/clock";
import type { CaseState } from "../../log";
import type { Modality, Pack } from "../../types.gen";

export interface DyeClock extends ClockAnswer {
  /** Id of the dye in the pack. */
  dye: string;
  name: string;
  modality: Modality;
  /** The injection was logged on another phone, whose clocks are not this one's. */
  foreign: boolean;
  /** The team agreed on the time, since both clocks had failed. */
  agreed: boolean;
}

const NAMES: Record<Modality, string> = {
  fluorescein: "Fluorescein",
  indocyanine_green: "Indocyanine green",
  colour: "Colour",
};

/** The kind of image that a dye is for, which a protocol names its dyes by. */
export function modalityOf(pack: Pack | null, dye: string): Modality {
  const known = pack?.dyes?.find((one) => one.id === dye)?.modality;
  return known ?? (dye === "indocyanine_green" ? "indocyanine_green" : "fluorescein");
}

/** Where each dye's clock begins, in the order of injection. A dye given twice counts from the first. */
export function anchorsOf(state: CaseState, device: string | null): Map<string, ClockAnchor> {
  const anchors = new Map<string, ClockAnchor>();
  for (const { body, boot, device: by } of state.dye.injected) {
    if (anchors.has(body.dye)) continue;
    const { pressed_at: at, pressed_mono: mono } = body;
    anchors.set(body.dye, { at, mono, boot, seconds: 0, foreign: by !== device });
  }
  for (const { body, at, mono, boot, device: by } of state.clockUncertain) {
    if (!anchors.has(body.dye) || body.agreed_s === null || body.agreed_s === undefined) continue;
    anchors.set(body.dye, { at, mono, boot, seconds: body.agreed_s, foreign: by !== device });
  }
  return anchors;
}

/** Every dye's clock at the last of the readings. */
export function clocksOf(
  pack: Pack | null,
  state: CaseState,
  device: string | null,
  readings: readonly ClockReading[],
): DyeClock[] {
  return [...anchorsOf(state, device)].map(([dye, anchor]) => {
    const modality = modalityOf(pack, dye);
    return {
      ...secondsSince(anchor, readings),
      dye,
      name: pack?.dyes?.find((one) => one.id === dye)?.name ?? NAMES[modality],
      modality,
      foreign: anchor.foreign,
      agreed: anchor.seconds > 0,
    };
  });
}

/** Whether the clock has lost both its witnesses and nothing of it has been written down since. */
export function unsaid(state: CaseState, clock: DyeClock): boolean {
  const last = state.clockUncertain.filter(({ body }) => body.dye === clock.dye).at(-1);
  return clock.state === "uncertain" && (last === undefined || last.body.agreed_s !== null);
}
