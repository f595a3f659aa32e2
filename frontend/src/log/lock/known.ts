/** The case in hand as a locked phone knows it: what is written to it goes on from there. */
import type { CaseState } from "../case";
import { blank } from "../fold";
import type { InHand } from "../types";

/** Made anew each time: a fold changes it. `device`: this phone's id. */
export function knownCase(
  { case: of, latest, pack, practice, dyes, reaction }: InHand,
  device: string,
): CaseState {
  const state = blank({ at: latest, case: of, device, pack, practice });
  state.opened = true;
  for (const { dye, at, mono, boot, seconds, foreign } of dyes) {
    const noted = { line: "", at, device: foreign ? "" : device };
    const press = { dye, arm: null, route: "", pressed_at: at, pressed_mono: mono, salt: "" };
    state.dye.injected.push({ ...noted, boot, body: press });
    const body = { dye, wall_s: seconds, agreed_s: seconds, salt: "" };
    if (seconds > 0) state.clockUncertain.push({ ...noted, mono, boot, body });
  }
  if (reaction) {
    const nothing = { line: "", signs: new Map(), actions: [], readings: [], handed: null, ended: null };
    state.reactions = [{ ...reaction, ...nothing }];
  }
  return state;
}
