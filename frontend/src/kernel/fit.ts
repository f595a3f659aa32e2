/** One question about this patient in, one answer out: the phone's counterpart of the reference model. */
import type { FitRequest, FitResult, Optic, Pack, Reason } from "../types.gen";
import { bodyOf, type Capsules, nearestCapsule } from "./clearance";
import { lightOffset, lightRefusal } from "./light";
import { eyeTurn, newPlaced, place, RAD } from "./pose";
import { pupilRatio } from "./pupil";
import { judged, noPose, notComputed, refused, warnings } from "./sentences";
import { capsulesOf, InputError, landmarkAt, plain, shiftsOf } from "./shape";
import { discomfortOf, type Pose, type Question, solve } from "./solve";

/** What the kernel needs of a pack. */
export type FitPack = Pick<Pack, "optics" | "faces" | "limits" | "pupil">;

const GAZE_LIMIT_DEG = 60;

/** Answers one question; throws InputError for what cannot be answered. `words` and `touch_chance` stay null. */
export function fit(pack: FitPack, request: FitRequest): FitResult {
  const optic = checked(pack, request);
  const shifts = shiftsOf(pack.faces, request.measures);
  const capsules = capsulesOf(pack.faces, pack.faces.nominal, shifts);
  if (request.age_band === "child" || request.unusual_face) {
    return withoutPose(pack, request, optic, capsules, notComputed(request), []);
  }
  const q = questionOf(pack, request, optic, capsules);
  const forward = capsulesOf(pack.faces, pack.faces.forward, shifts);
  if (request.at_deg !== null) {
    const distance_mm = request.at_distance_mm ?? optic.working_distance_mm;
    const [yaw, pitch] = request.at_deg;
    return atPose(pack, request, optic, q, forward, yaw, pitch, distance_mm, true);
  }
  const found = leastPose(q, optic);
  if (found !== null) {
    return atPose(pack, request, optic, q, forward, found.yaw_deg, found.pitch_deg, found.distance_mm, false);
  }
  const others = pack.optics
    .filter((o) => o.id !== optic.id && leastPose({ ...q, body: bodyOf(o.profile) }, o) !== null)
    .map((o) => o.id);
  const unreachable = solve({ ...q, margin_mm: -Infinity }, optic.working_distance_mm, true) === null;
  const neck = pack.limits.necks[request.measures.neck];
  return withoutPose(pack, request, optic, capsules, noPose(optic, neck, unreachable, others), others);
}

function questionOf(pack: FitPack, request: FitRequest, optic: Optic, capsules: Capsules): Question {
  const { limits } = pack;
  const neck = limits.necks[request.measures.neck];
  const band = request.age_band === null || request.age_band === "child" ? "80-or-more" : request.age_band;
  return {
    body: bodyOf(optic.profile),
    capsules,
    eye: limits.eye,
    gaze_deg: request.gaze_deg,
    margin_mm: limits.margin_mm,
    yaw_limit_deg: neck.yaw_deg,
    pitch_limit_deg: neck.pitch_deg,
    stop_side_deg: limits.eye_turn.stop_side_deg,
    stop_up_deg: limits.eye_turn.stop_up_deg[band],
    stop_down_deg: limits.eye_turn.stop_down_deg,
    comfort: limits.comfort,
    solver: limits.solver,
  };
}

/** The least discomfort at the least distance that allows any pose; clearance rises with distance. */
function leastPose(q: Question, optic: Optic): (Pose & { distance_mm: number }) | null {
  const nominal = optic.working_distance_mm;
  const step = q.solver.distance_step_mm;
  const near = solve(q, nominal);
  if (near !== null) return { ...near, distance_mm: nominal };
  let low = 0;
  let high = Math.floor(optic.tolerance_mm / step + 1e-9);
  if (high === 0 || solve(q, nominal + high * step, true) === null) return null;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (solve(q, nominal + middle * step, true) === null) low = middle;
    else high = middle;
  }
  const pose = solve(q, nominal + high * step);
  return pose === null ? null : { ...pose, distance_mm: nominal + high * step };
}

function atPose(
  pack: FitPack,
  request: FitRequest,
  optic: Optic,
  q: Question,
  forward: Capsules,
  yaw_deg: number,
  pitch_deg: number,
  distance_mm: number,
  given: boolean,
): FitResult {
  const { limits } = pack;
  const at = place(newPlaced(), q.eye, yaw_deg, pitch_deg, distance_mm, q.gaze_deg);
  const near = nearestCapsule(q.body, q.capsules, at.m);
  const forward_mm = nearestCapsule(q.body, forward, at.m).clearance_mm;
  const turn = eyeTurn(yaw_deg, pitch_deg, ...q.gaze_deg);
  const target_cm = request.target_cm ?? limits.target_cm;
  const code = request.fellow_eye_sees
    ? lightRefusal(
        pack.faces,
        q.capsules,
        q.body,
        at.m,
        q.eye,
        request.measures.pd_mm,
        at.h_deg,
        at.v_deg,
        target_cm,
        limits.sight_line_radius_mm,
      )
    : "fellow_eye_does_not_see";
  const reason = given
    ? judged(q, optic, yaw_deg, pitch_deg, distance_mm, at.h_deg, at.v_deg, near.clearance_mm)
    : null;
  const field_deg = fieldAt(optic, distance_mm, q.eye.pupil_depth_mm);
  const base = common(pack, request, optic, q.capsules);
  return {
    ...base,
    feasible: reason === null,
    reason,
    yaw_deg,
    pitch_deg,
    working_distance_mm: distance_mm,
    clearance_mm: near.clearance_mm,
    forward_clearance_mm: forward_mm,
    nearest: landmarkAt(pack.faces, near.capsule, near.t),
    field_deg,
    eye_in_head_deg: [at.h_deg, at.v_deg],
    discomfort: discomfortOf(limits.comfort, yaw_deg, pitch_deg, turn),
    outside_light_cm:
      code === null ? lightOffset(at.h_deg, at.v_deg, target_cm, request.eye === "right") : null,
    outside_light_refused: code === null ? null : refused(code),
    warnings: warnings(request, optic, limits, turn, distance_mm, field_deg, base.pupil_ratio, forward_mm),
    head_to_instrument: [
      [...at.m.subarray(0, 4)],
      [...at.m.subarray(4, 8)],
      [...at.m.subarray(8, 12)],
      [0, 0, 0, 1],
    ],
  };
}

function withoutPose(
  pack: FitPack,
  request: FitRequest,
  optic: Optic,
  capsules: Capsules,
  reason: Reason,
  others: string[],
): FitResult {
  return { ...common(pack, request, optic, capsules), reason, other_optics: others };
}

/** An answer without a pose. */
function common(pack: FitPack, request: FitRequest, optic: Optic, capsules: Capsules): FitResult {
  const [h, v] = request.gaze_deg;
  return {
    optic: optic.id,
    eye: request.eye,
    feasible: false,
    reason: null,
    yaw_deg: null,
    pitch_deg: null,
    working_distance_mm: null,
    clearance_mm: null,
    forward_clearance_mm: null,
    margin_mm: pack.limits.margin_mm,
    nearest: null,
    field_deg: null,
    eye_in_head_deg: null,
    discomfort: null,
    touch_chance: null,
    words: null,
    pupil_ratio: pupilRatio(pack.pupil, h),
    inside_light: Math.max(Math.abs(h), Math.abs(v)) <= optic.inside_light_deg,
    outside_light_cm: null,
    outside_light_refused: null,
    warnings: [],
    other_optics: [],
    capsules: rows(capsules),
    optic_profile: optic.profile,
    head_to_instrument: null,
  };
}

function rows(capsules: Capsules): FitResult["capsules"] {
  const list: FitResult["capsules"] = [];
  for (let i = 0; i < capsules.length; i += 8) {
    list.push([...capsules.subarray(i, i + 8)] as FitResult["capsules"][number]);
  }
  return list;
}

/** The field left at a distance: the cone to the front element's clear edge, never more than the optic's own. */
function fieldAt(optic: Optic, distance_mm: number, pupil_depth_mm: number): number {
  return Math.min(
    optic.field_deg,
    (2 * Math.atan(optic.clear_radius_mm / (distance_mm + pupil_depth_mm))) / RAD,
  );
}

function checked(pack: FitPack, request: FitRequest): Optic {
  const optic = pack.optics.find((o) => o.id === request.optic);
  if (optic === undefined) {
    const known = pack.optics.map((o) => o.id).join(", ");
    throw new InputError("optic", `there is no optic '${request.optic}'; there are ${known}`);
  }
  const bounds: [string, number | null, number, number, string][] = [
    ["gaze_deg", request.gaze_deg[0], -GAZE_LIMIT_DEG, GAZE_LIMIT_DEG, "deg to the side"],
    ["gaze_deg", request.gaze_deg[1], -GAZE_LIMIT_DEG, GAZE_LIMIT_DEG, "deg up or down"],
    ["pupil_mm", request.pupil_mm, 0.5, 10, "mm"],
    ["target_cm", request.target_cm, 20, 600, "cm"],
    ["at_deg", request.at_deg?.[0] ?? null, -90, 90, "deg of yaw"],
    ["at_deg", request.at_deg?.[1] ?? null, -90, 90, "deg of pitch"],
    ["at_distance_mm", request.at_distance_mm, 0, 500, "mm"],
  ];
  for (const [field, value, low, high, unit] of bounds) {
    if (value !== null && !(value >= low && value <= high)) {
      throw new InputError(field, `${plain(value)} is outside ${low} to ${high} ${unit}`);
    }
  }
  return optic;
}
