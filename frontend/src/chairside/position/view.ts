/**
 * The view from above: projections of the model's own shapes, in millimetres, into paths.
 *
 * Screen axes: right is the patient's left, down is toward the photographer, who stands behind the optic and so
 * sees the patient's right eye on the left, as in life. The right eye's nasal axis is the patient's left; a left
 * eye is drawn mirrored. Only drawing happens here: no clearance, no pose.
 */
import type { EyeSide } from "../../types.gen";

/** x0, y0, z0, r0, x1, y1, z1, r1 in the head frame, mm. */
export type CapsuleRow = readonly [number, number, number, number, number, number, number, number];
/** Row-major 4 x 4, head frame to instrument frame (z toward the instrument, origin in the rim plane), mm. */
export type Matrix = readonly (readonly number[])[];
export interface Point {
  x: number;
  y: number;
}
export interface Circle extends Point {
  r: number;
}

export function mirror(eye: EyeSide): 1 | -1 {
  return eye === "right" ? 1 : -1;
}

/**
 * A point of the head tipped by the chin (Rx(-pitch)), before the turn: seen from above, the turn itself is a plain
 * rotation of the paper, so one attribute moves the whole head while it is dragged.
 */
export function tipped(p: readonly [number, number, number], pitch_deg: number): Point {
  const [x, y, z] = p;
  const a = (pitch_deg * Math.PI) / 180;
  return { x, y: z * Math.cos(a) - y * Math.sin(a) };
}

/** SVG matrix that carries tipped head millimetres to the picture, for the pose in `m`. */
export function headTransform(m: Matrix, yaw_deg: number, eye: EyeSide): string {
  const a = (yaw_deg * Math.PI) / 180;
  const s = mirror(eye);
  const tx = m[0]?.[3] ?? 0;
  const tz = m[2]?.[3] ?? 0;
  const entries = [s * Math.cos(a), -Math.sin(a), s * Math.sin(a), Math.cos(a), s * tx, tz];
  return `matrix(${entries.map((n) => n.toFixed(4)).join(" ")})`;
}

/** A point of the instrument frame on the picture. */
export function instrumentPoint(p: readonly [number, number, number], eye: EyeSide): Point {
  return { x: mirror(eye) * p[0], y: p[2] };
}

/** A point of the head frame on the picture, through the full matrix. */
export function headPoint(p: readonly [number, number, number], m: Matrix, eye: EyeSide): Point {
  const row = (i: number): number =>
    (m[i]?.[0] ?? 0) * p[0] + (m[i]?.[1] ?? 0) * p[1] + (m[i]?.[2] ?? 0) * p[2] + (m[i]?.[3] ?? 0);
  return instrumentPoint([row(0), row(1), row(2)], eye);
}

const n2 = (value: number): string => value.toFixed(2);

/** Outline of two discs joined by their outer tangents: the shadow of a capsule. */
export function capsulePath(a: Circle, b: Circle): string {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const length = Math.hypot(dx, dy);
  if (length <= Math.abs(a.r - b.r) + 1e-9) {
    const { x, y, r } = a.r >= b.r ? a : b;
    return `M${n2(x - r)} ${n2(y)}a${n2(r)} ${n2(r)} 0 1 0 ${n2(2 * r)} 0a${n2(r)} ${n2(r)} 0 1 0 ${n2(-2 * r)} 0Z`;
  }
  const along = Math.atan2(dy, dx);
  const spread = Math.acos((a.r - b.r) / length);
  const at = (c: Circle, angle: number): string =>
    `${n2(c.x + c.r * Math.cos(angle))} ${n2(c.y + c.r * Math.sin(angle))}`;
  const wideA = a.r > b.r ? 1 : 0;
  const wideB = a.r > b.r ? 0 : 1;
  return (
    `M${at(a, along + spread)}` +
    `A${n2(a.r)} ${n2(a.r)} 0 ${wideA} 1 ${at(a, along - spread)}` +
    `L${at(b, along - spread)}` +
    `A${n2(b.r)} ${n2(b.r)} 0 ${wideB} 1 ${at(b, along + spread)}Z`
  );
}

/** Shadows of the face's capsules with the chin tipped, before the turn. */
export function facePaths(capsules: readonly CapsuleRow[], pitch_deg: number): string[] {
  return capsules.map(([x0, y0, z0, r0, x1, y1, z1, r1]) =>
    capsulePath({ ...tipped([x0, y0, z0], pitch_deg), r: r0 }, { ...tipped([x1, y1, z1], pitch_deg), r: r1 }),
  );
}

/** The other half of the face, which the model need not know: mirrored about the mid-line, for the eye to read. */
export function mirroredCapsules(capsules: readonly CapsuleRow[], pd_mm: number): CapsuleRow[] {
  return capsules.map(([x0, y0, z0, r0, x1, y1, z1, r1]) => [pd_mm - x0, y0, z0, r0, pd_mm - x1, y1, z1, r1]);
}

/** Outline of the optic, cut through its axis: profile rows are [mm behind the front rim, radius]. */
export function opticPath(profile: readonly (readonly [number, number])[]): string {
  const right = profile.map(([z, r]) => `${n2(r)} ${n2(z)}`);
  const left = [...profile].reverse().map(([z, r]) => `${n2(-r)} ${n2(z)}`);
  return `M${[...right, ...left].join("L")}Z`;
}

/** Turn of the head asked for by dragging `dx_mm` sideways on the picture, as if the nose were held. */
export function dragYaw_deg(dx_mm: number, eye: EyeSide): number {
  const lever_mm = 45;
  return (mirror(eye) * dx_mm * 180) / Math.PI / lever_mm;
}

/** A mean adult head behind the face: length and breadth only place the outline that the eye reads as a head. */
export const HEAD_OUTLINE = { breadth_mm: 151, length_mm: 194.7, forehead_before_cornea_mm: 12 } as const;

/**
 * The optic cut at a height above its axis: what stands level with a part of the face that lies there. Seen from
 * above, a nose that passes under the optic lies within its outline without touching it; the cut shows the truth.
 */
export function opticSlicePath(profile: readonly (readonly [number, number])[], height_mm: number): string {
  const half: [number, number][] = [];
  for (let i = 0; i + 1 < profile.length; i++) {
    const [z0, r0] = profile[i] as readonly [number, number];
    const [z1, r1] = profile[i + 1] as readonly [number, number];
    const parts = 8;
    for (let k = i === 0 ? 0 : 1; k <= parts; k++) {
      const r = r0 + ((r1 - r0) * k) / parts;
      if (r > Math.abs(height_mm))
        half.push([z0 + ((z1 - z0) * k) / parts, Math.sqrt(r * r - height_mm * height_mm)]);
    }
  }
  return half.length < 2 ? "" : opticPath(half);
}
