/** Where the light goes for an aim, or why none is placed by number. The kernel answers; this only asks it. */
import { InputError } from "../../kernel";
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { advise, noTurnBecause, requestFor } from "../position/ask";
import type { Aim } from "./current";

export type Place =
  | { kind: "at"; offset_cm: readonly [number, number]; target_cm: number }
  /** Nose, face, instrument or a blind fellow eye stand in the way: another way of guiding is needed. */
  | { kind: "refused"; why: string }
  /** Nothing is computed for this patient: it is placed by eye. */
  | { kind: "unknown"; why: string };

export function placeOf(pack: Pack, state: CaseState, aim: Aim): Place {
  const none = noTurnBecause(pack, state, aim.eye);
  if (none !== null) return { kind: "unknown", why: none };
  const request = requestFor(pack, state, aim.eye, aim.optic, aim.gaze_deg);
  if (request === null) return { kind: "unknown", why: "The face of this eye is not measured yet." };
  try {
    const answer = advise(pack, request);
    if (answer.outside_light_cm !== null) {
      return { kind: "at", offset_cm: answer.outside_light_cm, target_cm: pack.limits.target_cm };
    }
    const why = answer.outside_light_refused?.sentence ?? answer.reason?.sentence;
    return { kind: "refused", why: why ?? "No place for the light was found." };
  } catch (error) {
    if (error instanceof InputError) return { kind: "unknown", why: error.message };
    throw error;
  }
}

/** The place in separate lines, for large type: "30 cm to the patient's right", "20 cm up", "100 cm away". */
export function placeLines({ offset_cm: [right, up], target_cm }: Extract<Place, { kind: "at" }>): string[] {
  const aside = Math.round(Math.abs(right));
  const height = Math.round(Math.abs(up));
  if (aside === 0 && height === 0) return ["straight before the eye", `${Math.round(target_cm)} cm away`];
  return [
    aside === 0 ? "not aside" : `${aside} cm to the patient's ${right > 0 ? "right" : "left"}`,
    height === 0 ? "level with the eye" : `${height} cm ${up > 0 ? "up" : "down"}`,
    `${Math.round(target_cm)} cm away`,
  ];
}
