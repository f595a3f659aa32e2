/**
 * Poses: Fick rotations of the head, where the eye then points in it, and the way from head to instrument.
 *
 * Yaw + turns the face toward the fellow eye's side, pitch + lifts the chin; R = Ry(yaw) Rx(-pitch). Both frames:
 * x nasal, y up, z from the face outward. Angles in degrees, lengths in mm. The counterpart of the reference model.
 */
import type { Eye } from "../types.gen";

export const RAD = Math.PI / 180;
export const clamp = (value: number, low: number, high: number): number =>
  value < low ? low : value > high ? high : value;

/** A rotation (row by row) and a shift: p_instrument = R p_head + t. */
export interface Placed {
  readonly m: Float64Array;
  h_deg: number;
  v_deg: number;
}

/** Room for one pose: twelve numbers, row-major 3 x 4. */
export function newPlaced(): Placed {
  return { m: new Float64Array(12), h_deg: 0, v_deg: 0 };
}

/** Entrance pupil in the head frame for an eye turned (h nasal+, v up+); the two rotation centres differ. */
export function entrancePupil(eye: Eye, h_deg: number, v_deg: number): [number, number, number] {
  const h = h_deg * RAD;
  const v = v_deg * RAD;
  const up = eye.vertical_centre_up_mm;
  const forward = eye.vertical_centre_depth_mm - eye.pupil_depth_mm;
  const y = up - up * Math.cos(v) + forward * Math.sin(v);
  const inner = -eye.vertical_centre_depth_mm + up * Math.sin(v) + forward * Math.cos(v);
  const side = eye.horizontal_centre_nasal_mm;
  const reach = inner + eye.horizontal_centre_depth_mm;
  return [
    side - side * Math.cos(h) + reach * Math.sin(h),
    y,
    -eye.horizontal_centre_depth_mm + side * Math.sin(h) + reach * Math.cos(h),
  ];
}

/** Fills `out` with the way from head to instrument, and where the eye points in its head. */
export function place(
  out: Placed,
  eye: Eye,
  yaw_deg: number,
  pitch_deg: number,
  distance_mm: number,
  gaze_deg: readonly [number, number],
): Placed {
  const yaw = yaw_deg * RAD;
  const pitch = pitch_deg * RAD;
  const cy = Math.cos(yaw);
  const sy = Math.sin(yaw);
  const cp = Math.cos(pitch);
  const sp = Math.sin(pitch);
  const h = gaze_deg[0] * RAD;
  const v = gaze_deg[1] * RAD;
  const gx = Math.sin(h) * Math.cos(v);
  const gy = Math.sin(v);
  const gz = Math.cos(h) * Math.cos(v);
  const x = cy * gx - sy * gz;
  const y = -sy * sp * gx + cp * gy - cy * sp * gz;
  const z = sy * cp * gx + sp * gy + cy * cp * gz;
  out.h_deg = Math.atan2(x, z) / RAD;
  out.v_deg = Math.asin(clamp(y, -1, 1)) / RAD;
  const [px, py, pz] = entrancePupil(eye, out.h_deg, out.v_deg);
  const m = out.m;
  m[0] = cy;
  m[1] = -sy * sp;
  m[2] = sy * cp;
  m[3] = -(cy * px - sy * sp * py + sy * cp * pz);
  m[4] = 0;
  m[5] = cp;
  m[6] = sp;
  m[7] = -(cp * py + sp * pz);
  m[8] = -sy;
  m[9] = -cy * sp;
  m[10] = cy * cp;
  m[11] = -(-sy * px - cy * sp * py + cy * cp * pz) - (distance_mm + eye.pupil_depth_mm);
  return out;
}

/** Whole angle between the eye and straight ahead: the great circle from (yaw, pitch) to the gaze. */
export function eyeTurn(yaw_deg: number, pitch_deg: number, h_deg: number, v_deg: number): number {
  const a = Math.sin(((pitch_deg - v_deg) * RAD) / 2);
  const b = Math.sin(((yaw_deg - h_deg) * RAD) / 2);
  const haversine = a * a + Math.cos(pitch_deg * RAD) * Math.cos(v_deg * RAD) * b * b;
  return (2 * Math.asin(Math.sqrt(Math.min(1, haversine)))) / RAD;
}
