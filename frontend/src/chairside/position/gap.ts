/** Where the nearest gap lies, so that the picture can mark it. How wide it is, is the kernel's answer alone. */
import { bodyOf, nearestCapsule } from "../../kernel";
import type { CapsuleRow, Matrix } from "./view";

export type Triple = readonly [number, number, number];
export interface GapPoints {
  /** On the face and on the optic, instrument frame, mm. */
  face: Triple;
  optic: Triple;
}

/** The point of the outline (distance from the axis, z) that is nearest to another. */
function onOutline(
  profile: readonly (readonly [number, number])[],
  rho: number,
  z: number,
): [number, number] {
  const first = profile[0] ?? [0, 0];
  const last = profile.at(-1) ?? first;
  const points = [[first[0], 0], ...profile, [last[0], 0]] as [number, number][];
  let best: [number, number] = [0, 0];
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i + 1 < points.length; i++) {
    const [z0, r0] = points[i] as [number, number];
    const [z1, r1] = points[i + 1] as [number, number];
    const along = ((rho - r0) * (r1 - r0) + (z - z0) * (z1 - z0)) / ((r1 - r0) ** 2 + (z1 - z0) ** 2);
    const t = Math.min(Math.max(along, 0), 1);
    const near: [number, number] = [r0 + t * (r1 - r0), z0 + t * (z1 - z0)];
    const far = Math.hypot(near[0] - rho, near[1] - z);
    if (far < least) {
      least = far;
      best = near;
    }
  }
  return best;
}

/** Both ends of the nearest gap. Where the solids overlap, both ends are the point of the outline. */
export function gapPoints(
  capsules: readonly CapsuleRow[],
  profile: readonly (readonly [number, number])[],
  m: Matrix,
): GapPoints | null {
  if (capsules.length === 0) return null;
  const flat = Float64Array.from(m.slice(0, 3).flat());
  const body = bodyOf(profile);
  const near = nearestCapsule(body, Float64Array.from(capsules.flat()), flat);
  const [x0, y0, z0, r0, x1, y1, z1, r1] = capsules[near.capsule] as CapsuleRow;
  const t = near.t;
  const head: Triple = [x0 + t * (x1 - x0), y0 + t * (y1 - y0), z0 + t * (z1 - z0)];
  const [x, y, z] = m
    .slice(0, 3)
    .map(
      (row) => (row[0] ?? 0) * head[0] + (row[1] ?? 0) * head[1] + (row[2] ?? 0) * head[2] + (row[3] ?? 0),
    ) as [number, number, number];
  const rho = Math.hypot(x, y);
  const [onRho, onZ] = onOutline(profile, rho, z);
  const side = rho > 0 ? onRho / rho : 0;
  const optic: Triple = [x * side, y * side, onZ];
  const apart = Math.hypot(optic[0] - x, optic[1] - y, optic[2] - z);
  const radius = r0 + t * (r1 - r0);
  if (near.clearance_mm <= 0 || apart === 0) return { face: optic, optic };
  const k = radius / apart;
  return { face: [x + (optic[0] - x) * k, y + (optic[1] - y) * k, z + (optic[2] - z) * k], optic };
}
