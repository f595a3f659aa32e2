/** Asking the kernel about this patient: the one place of the screens that knows how a question is put. */
import { fit as answerTo } from "../../kernel";
import type { CaseState, Eye } from "../../log";
import type { AgeBand, FitRequest, FitResult, Optic, Pack, ReasonCode } from "../../types.gen";
import { type GapPoints, gapPoints } from "./gap";
import { touchWord } from "./lookup";

/** A pose with everything that the picture needs. */
export interface Posed {
  yaw_deg: number;
  pitch_deg: number;
  working_distance_mm: number;
  clearance_mm: number;
  nearest: string;
  field_deg: number;
  eye_in_head_deg: [number, number];
  gaze_deg: readonly [number, number];
  head_to_instrument: number[][];
  pupil_to_rim_mm: number;
  gap: GapPoints | null;
}

function isChild(state: CaseState, eye: Eye): boolean {
  return state.face[eye]?.body.age_band === "child" || state.flags.includes("child");
}

/** The model's own code for why nothing is computed, where that is so. */
export function noTurnCode(state: CaseState, eye: Eye): ReasonCode {
  return isChild(state, eye) ? "child_no_computed_turn" : "unusual_face_no_computed_turn";
}

/** Why nothing is computed for this person, in the pack's words; null where a turn may be computed. */
export function noTurnBecause(pack: Pack, state: CaseState, eye: Eye): string | null {
  const noted = state.face[eye]?.body;
  if (isChild(state, eye)) {
    const words = pack.choices.age_bands.find((band) => band.id === "child")?.text ?? "Child";
    return `${words}: the face tables are of adults.`;
  }
  const named = noted?.unusual ?? pack.choices.unusual.find((u) => state.flags.includes(u.id))?.id ?? null;
  if (named === null) return null;
  const words = pack.choices.unusual.find((u) => u.id === named)?.text ?? named;
  return `${words}: the face tables do not describe this face.`;
}

/** The question for one eye, optic and gaze; null while the face is not measured or may not be computed. */
export function requestFor(
  pack: Pack,
  state: CaseState,
  eye: Eye,
  optic: string,
  gaze_deg: readonly [number, number],
): FitRequest | null {
  const face = state.face[eye]?.body;
  if (face === undefined || noTurnBecause(pack, state, eye) !== null) return null;
  return {
    optic,
    eye,
    measures: {
      pd_mm: face.pd_mm,
      exophthalmometry: face.exophthalmometry,
      nose: face.nose,
      brow: face.brow,
      neck: face.neck,
    },
    gaze_deg: [gaze_deg[0], gaze_deg[1]],
    pupil_mm: state.pupil[eye]?.body.pupil_mm ?? null,
    age_band: face.age_band as AgeBand,
    unusual_face: false,
    fellow_eye_sees: state.fixation[eye]?.body.fellow_sees ?? true,
    target_cm: null,
    at_deg: null,
    at_distance_mm: null,
  };
}

let lastAsked: { pack: Pack; key: string; answer: FitResult }[] = [];

/**
 * The least uncomfortable pose, with its words from the pack's table. The last few answers are kept: several screens
 * ask the same question while they are drawn.
 */
export function advise(pack: Pack, request: FitRequest): FitResult {
  const key = JSON.stringify(request);
  const kept = lastAsked.find((a) => a.pack === pack && a.key === key);
  if (kept) return kept.answer;
  const found = answerTo(pack, request);
  const words = found.feasible
    ? touchWord(pack.touch, request.optic, found.nearest, found.clearance_mm)
    : null;
  const answer: FitResult = { ...found, words };
  lastAsked = [{ pack, key, answer }, ...lastAsked.slice(0, 23)];
  return answer;
}

/** One pose judged, for 'what if I only turn ...'. Angles beyond what a head does are brought back to the kernel's range. */
export function judge(
  pack: Pack,
  request: FitRequest,
  at: { yaw_deg: number; pitch_deg: number; distance_mm: number },
): FitResult {
  const within = (value: number): number => Math.min(Math.max(value, -60), 60);
  const found = answerTo(pack, {
    ...request,
    at_deg: [within(at.yaw_deg), within(at.pitch_deg)],
    at_distance_mm: Math.max(at.distance_mm, 0),
  });
  return { ...found, words: touchWord(pack.touch, request.optic, found.nearest, found.clearance_mm) };
}

/** What the picture draws of an answer; null where no pose stands. */
export function posed(
  pack: Pack,
  optic: Optic,
  answer: FitResult,
  gaze_deg: readonly [number, number],
): Posed | null {
  const { yaw_deg, pitch_deg, working_distance_mm, clearance_mm, nearest, field_deg, eye_in_head_deg } =
    answer;
  const m = answer.head_to_instrument;
  if (yaw_deg === null || pitch_deg === null || working_distance_mm === null || clearance_mm === null)
    return null;
  if (nearest === null || field_deg === null || eye_in_head_deg === null || m === null) return null;
  return {
    yaw_deg,
    pitch_deg,
    working_distance_mm,
    clearance_mm,
    nearest,
    field_deg,
    eye_in_head_deg,
    gaze_deg,
    head_to_instrument: m,
    pupil_to_rim_mm: working_distance_mm + pack.limits.eye.pupil_depth_mm,
    gap: gapPoints(answer.capsules, optic.profile, m),
  };
}
