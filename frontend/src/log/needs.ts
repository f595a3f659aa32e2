/** What a body must have before it may change a case. The server has checked lines that it carries; this stands
 * between the screens and a body of a later version or of a restored backup. */
import type { BodyOf } from "../types.gen";
import { DYE_NEEDS } from "./dye";
import { PLAN_NEEDS } from "./plans";
import { REACTION_NEEDS } from "./reactions";

type Body = Record<string, unknown>;

const EYE = (value: unknown): boolean => value === "right" || value === "left";
const TEXT = (value: unknown): boolean => typeof value === "string";
const NUMBER = (value: unknown): boolean => typeof value === "number";
const LIST = (value: unknown): boolean => Array.isArray(value);
const GIVEN = (value: unknown): boolean => value !== undefined;

type Needs = Record<string, (value: unknown) => boolean>;

const NEEDS: Partial<Record<keyof BodyOf, Needs>> = {
  "case.opened": { code: TEXT, eyes: LIST, modalities: LIST, cross_sections: GIVEN, flags: LIST },
  "case.flagged": { flags: LIST },
  "case.taken": { seen: NUMBER },
  "optic.chosen": { optic: TEXT },
  "step.done": { step: TEXT },
  "step.skipped": { step: TEXT, reason: TEXT },
  "face.measured": { eye: EYE, pd_mm: NUMBER, exophthalmometry: GIVEN, nose: TEXT, brow: TEXT, neck: TEXT },
  "pupil.measured": { eye: EYE, pupil_mm: NUMBER },
  "fixation.chosen": { eye: EYE, method: TEXT },
  "pose.advised": { eye: EYE, optic: TEXT, gaze_deg: LIST },
  "pose.found": { eye: EYE, optic: TEXT, gaze_deg: LIST, outcome: TEXT },
  "frame.taken": { eye: EYE, optic: TEXT, modality: TEXT, field: TEXT, gaze_deg: LIST, outcome: TEXT },
  "series.laid": { protocol: TEXT, layout: TEXT, eyes: LIST },
  "series.burst": { state: TEXT, eye: EYE, optic: TEXT, frames: LIST },
  "series.looked": { burst: TEXT, shots: NUMBER, bad: LIST },
  "series.stopped": { why: TEXT },
  "clock.uncertain": { dye: TEXT, wall_s: NUMBER },
  "comfort.noted": { score: NUMBER, bothers: LIST },
  "pause.noted": { state: TEXT },
  "safety.noted": { what: TEXT, reached_patient: GIVEN, harm: GIVEN, signs: LIST, done: LIST, told: LIST },
  "line.amended": { line: TEXT, body: GIVEN },
  "lines.confirmed": { lines: LIST, by: TEXT },
  "case.handed_over": { to: TEXT },
  "case.closed": { outcome: TEXT },
  ...DYE_NEEDS,
  ...REACTION_NEEDS,
  ...PLAN_NEEDS,
};

/** Whether this version knows the type as one that a case has. */
export function knows(type: string): type is keyof BodyOf {
  return type in NEEDS;
}

/** Whether the body can be read as this type's. Anything fits a type that this version does not know. */
export function fits(type: string, body: Body): boolean {
  if (!knows(type)) return true;
  return Object.entries(NEEDS[type] ?? {}).every(([name, right]) => right(body[name]));
}
