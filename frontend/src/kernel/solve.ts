/**
 * The least-discomfort pose that clears the face: branch and bound over boxes of (yaw, pitch), global and
 * deterministic. Between two poses whose rotations differ by an angle a, clearance changes by at most a x (the
 * capsule's distance from the entrance pupil + how fast the pupil moves in the head).
 */
import type { Comfort, Eye, Solver } from "../types.gen";
import {
  type Body,
  type Capsules,
  carry,
  farther,
  HALVINGS,
  middleClearance,
  nearestCapsule,
  newCarried,
  searchClearance,
  span,
} from "./clearance";
import { clamp, eyeTurn, newPlaced, type Placed, place, RAD } from "./pose";

const ROOT_BOX_DEG = 5;
/** Halvings grow with the fineness of the boxes: 80 mm / 2^(n + 1) is about a thirtieth of a box's sway. */
const SEARCH_DETAIL = 20;
/** Capsules of a box are bits of one number. */
const MOST_CAPSULES = 30;

export interface Question {
  readonly body: Body;
  readonly capsules: Capsules;
  readonly eye: Eye;
  readonly gaze_deg: readonly [number, number];
  readonly margin_mm: number;
  readonly yaw_limit_deg: number;
  readonly pitch_limit_deg: number;
  readonly stop_side_deg: number;
  readonly stop_up_deg: number;
  readonly stop_down_deg: number;
  readonly comfort: Comfort;
  readonly solver: Solver;
}

export interface Pose {
  readonly yaw_deg: number;
  readonly pitch_deg: number;
  readonly discomfort: number;
}

export function discomfortOf(comfort: Comfort, yaw_deg: number, pitch_deg: number, turn_deg: number): number {
  return (
    comfort.yaw_weight * (yaw_deg / comfort.yaw_deg) ** 2 +
    comfort.pitch_weight * (pitch_deg / comfort.pitch_deg) ** 2 +
    comfort.eye_weight * (turn_deg / comfort.eye_deg) ** 2
  );
}

/** Least discomfort over a box, from below: the better of a bound term by term and of the tangent at the centre. */
function leastDiscomfort(
  q: Question,
  yaw: number,
  pitch: number,
  half_yaw: number,
  half_pitch: number,
): number {
  const { comfort } = q;
  const [h, v] = q.gaze_deg;
  const aside = Math.max(0, Math.abs(yaw - h) - half_yaw);
  const best = Math.atan2(Math.sin(v * RAD), Math.cos(v * RAD) * Math.cos(aside * RAD)) / RAD;
  const near = clamp(best, pitch - half_pitch, pitch + half_pitch);
  const by_term = discomfortOf(
    comfort,
    Math.max(0, Math.abs(yaw) - half_yaw),
    Math.max(0, Math.abs(pitch) - half_pitch),
    eyeTurn(aside, near, 0, v),
  );
  const turn = eyeTurn(yaw, pitch, h, v);
  const sine = Math.sin(turn * RAD);
  const wide = (sine > 1e-12 ? (turn * RAD) / sine : 1) / RAD;
  const y = (yaw - h) * RAD;
  const p = pitch * RAD;
  const scale = comfort.eye_weight / comfort.eye_deg ** 2;
  const slope_yaw =
    (2 * comfort.yaw_weight * yaw) / comfort.yaw_deg ** 2 +
    2 * scale * wide * Math.cos(p) * Math.cos(v * RAD) * Math.sin(y);
  const slope_pitch =
    (2 * comfort.pitch_weight * pitch) / comfort.pitch_deg ** 2 +
    2 * scale * wide * (Math.sin(p) * Math.cos(v * RAD) * Math.cos(y) - Math.cos(p) * Math.sin(v * RAD));
  const radius = Math.hypot(half_yaw, half_pitch);
  const steepest = Math.sin((Math.abs(pitch) + half_pitch) * RAD);
  const bend = 2 * scale * (turn + radius) * RAD * steepest * radius * radius;
  const tangent =
    discomfortOf(comfort, yaw, pitch, turn) -
    Math.abs(slope_yaw) * half_yaw -
    Math.abs(slope_pitch) * half_pitch -
    bend;
  return Math.max(by_term, tangent);
}

/** Whether the eye keeps its limits somewhere within `reach_deg` of where it points (0: there). */
function eyeKeepsLimits(q: Question, at: Placed, reach_deg: number): boolean {
  let side = 0;
  if (reach_deg > 0) {
    const ratio = Math.sin(Math.min(reach_deg, 90) * RAD) / Math.max(1e-9, Math.cos(at.v_deg * RAD));
    side = Math.asin(Math.min(1, ratio)) / RAD;
  }
  return (
    Math.abs(at.h_deg) - side <= q.stop_side_deg &&
    at.v_deg - reach_deg <= q.stop_up_deg &&
    -at.v_deg - reach_deg <= q.stop_down_deg
  );
}

/** Bound on how fast the entrance pupil moves in the head, mm per radian of the eye's turn. */
function pupilArm(q: Question): number {
  const { eye } = q;
  const depth = Math.max(eye.horizontal_centre_depth_mm, eye.vertical_centre_depth_mm) - eye.pupil_depth_mm;
  const offsets = Math.abs(eye.horizontal_centre_nasal_mm) + Math.abs(eye.vertical_centre_up_mm);
  return (depth + offsets) / Math.cos(Math.max(q.stop_up_deg, q.stop_down_deg) * RAD);
}

/** No turn at all, and the turn that takes the whole gaze: often the answer, and cheap to try. */
function firstPose(q: Question, distance_mm: number, need_mm: number): Pose | null {
  const at = newPlaced();
  let best: Pose | null = null;
  for (const [h, v] of [[0, 0], q.gaze_deg] as const) {
    const yaw_deg = clamp(h, -q.yaw_limit_deg, q.yaw_limit_deg);
    const pitch_deg = clamp(v, -q.pitch_limit_deg, q.pitch_limit_deg);
    place(at, q.eye, yaw_deg, pitch_deg, distance_mm, q.gaze_deg);
    if (!eyeKeepsLimits(q, at, 0) || nearestCapsule(q.body, q.capsules, at.m).clearance_mm < need_mm)
      continue;
    const discomfort = discomfortOf(
      q.comfort,
      yaw_deg,
      pitch_deg,
      eyeTurn(yaw_deg, pitch_deg, ...q.gaze_deg),
    );
    if (best === null || discomfort < best.discomfort) best = { yaw_deg, pitch_deg, discomfort };
  }
  return best;
}

/** One level of boxes: centre yaw, centre pitch, bits of the capsules that still matter. */
interface Level {
  yaw: number[];
  pitch: number[];
  bits: number[];
}

function rootBoxes(q: Question): { level: Level; half_yaw: number; half_pitch: number } {
  const count_yaw = Math.max(1, Math.ceil((2 * q.yaw_limit_deg) / ROOT_BOX_DEG));
  const count_pitch = Math.max(1, Math.ceil((2 * q.pitch_limit_deg) / ROOT_BOX_DEG));
  const half_yaw = q.yaw_limit_deg / count_yaw;
  const half_pitch = q.pitch_limit_deg / count_pitch;
  const count = q.capsules.length / 8;
  if (count > MOST_CAPSULES) throw new Error(`a face of ${count} capsules; at most ${MOST_CAPSULES}`);
  const level: Level = { yaw: [], pitch: [], bits: [] };
  for (let i = 0; i < count_yaw; i++) {
    for (let j = 0; j < count_pitch; j++) {
      level.yaw.push((2 * i + 1 - count_yaw) * half_yaw);
      level.pitch.push((2 * j + 1 - count_pitch) * half_pitch);
      level.bits.push(2 ** count - 1);
    }
  }
  return { level, half_yaw, half_pitch };
}

/** As many halvings as tell clearance to a small part of what it changes over a box. */
function halvingsFor(radius: number): number {
  return radius > 0
    ? Math.min(HALVINGS, Math.max(6, Math.ceil(Math.log2(SEARCH_DETAIL / radius))))
    : HALVINGS;
}

/** The feasible pose of least discomfort at one distance, within the solver's gap; or the first one met. */
export function solve(q: Question, distance_mm: number, any_feasible = false): Pose | null {
  const need = q.margin_mm + q.solver.guard_mm;
  const arm = pupilArm(q);
  const pupil_z = -(distance_mm + q.eye.pupil_depth_mm);
  const at = newPlaced();
  const carried = newCarried();
  let best = firstPose(q, distance_mm, need);
  let { level, half_yaw, half_pitch } = rootBoxes(q);

  while (level.yaw.length > 0 && !(any_feasible && best !== null)) {
    const radius_deg = Math.hypot(half_yaw, half_pitch);
    const radius = radius_deg * RAD;
    const halvings = halvingsFor(radius);
    const last = 2 * Math.max(half_yaw, half_pitch) <= q.solver.least_box_deg;
    const next: Level = { yaw: [], pitch: [], bits: [] };
    for (let b = 0; b < level.yaw.length; b++) {
      const yaw = level.yaw[b] as number;
      const pitch = level.pitch[b] as number;
      if (
        best !== null &&
        leastDiscomfort(q, yaw, pitch, half_yaw, half_pitch) >=
          best.discomfort * (1 - q.solver.relative_gap) - q.solver.absolute_gap
      )
        continue;
      place(at, q.eye, yaw, pitch, distance_mm, q.gaze_deg);
      if (!eyeKeepsLimits(q, at, radius_deg)) continue;
      let left = 0;
      let least = Infinity;
      let hopeless = false;
      for (let bits = level.bits[b] as number; bits !== 0; bits &= bits - 1) {
        const c = 31 - Math.clz32(bits & -bits);
        carry(carried, q.capsules, c, at.m);
        const sway = radius * (farther(carried, pupil_z) + arm * (1 + radius));
        const length = span(carried);
        if (middleClearance(q.body, carried) - length / 2 - sway >= need) continue;
        const clearance = searchClearance(q.body, carried, halvings);
        const lower = clearance - length / 2 ** (halvings + 1);
        if (lower < least) least = lower;
        if (clearance + sway < need) {
          hopeless = true;
          break;
        }
        if (lower - sway < need) left |= 1 << c;
      }
      if (hopeless) continue;
      if (least >= need && eyeKeepsLimits(q, at, 0)) {
        const discomfort = discomfortOf(q.comfort, yaw, pitch, eyeTurn(yaw, pitch, ...q.gaze_deg));
        if (best === null || discomfort < best.discomfort)
          best = { yaw_deg: yaw, pitch_deg: pitch, discomfort };
        if (any_feasible) return best;
      }
      if (last) continue;
      for (let child = 0; child < 4; child++) {
        next.yaw.push(yaw + half_yaw * (child < 2 ? -0.5 : 0.5));
        next.pitch.push(pitch + half_pitch * (child % 2 === 0 ? -0.5 : 0.5));
        next.bits.push(left);
      }
    }
    level = next;
    half_yaw /= 2;
    half_pitch /= 2;
  }
  return best;
}
