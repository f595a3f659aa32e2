/**
 * Clearance: the least signed distance between rounded capsules and a convex body of revolution, mm.
 *
 * A capsule is the union of balls along its axis, so its distance is the least over t of d(p(t)) - r(t): convex in
 * t. Its slope is halved in on a fixed number of times. Overlap is minus the deepest ball's depth.
 */

const HALVINGS = 18;
const EDGE = 7;

/** Edges in the half plane (distance from the axis, z): start, direction, length, outward normal; seven numbers each. */
export type Body = Float64Array;
/** x0, y0, z0, r0, x1, y1, z1, r1 for each capsule. */
export type Capsules = Float64Array;
/** What a search along one capsule leaves behind: where it was nearest (0 start, 1 end) and how far its ends are. */
export interface Along {
  t: number;
  /** Distance of the farther end from the entrance pupil. */
  far_mm: number;
}

export function bodyOf(profile: readonly (readonly [number, number])[]): Body {
  const first = profile[0] as readonly [number, number];
  const last = profile[profile.length - 1] as readonly [number, number];
  const points = [[first[0], 0], ...profile, [last[0], 0]] as [number, number][];
  const body = new Float64Array((points.length - 1) * EDGE);
  for (let i = 0; i + 1 < points.length; i++) {
    const [z, rho] = points[i] as [number, number];
    const [z1, rho1] = points[i + 1] as [number, number];
    const length = Math.hypot(rho1 - rho, z1 - z);
    const along_rho = (rho1 - rho) / length;
    const along_z = (z1 - z) / length;
    body.set([rho, z, along_rho, along_z, length, along_z, -along_rho], i * EDGE);
  }
  return body;
}

let slope = 0;

/** Signed distance of a point of the half plane from the body; leaves its rate of change along a step in `slope`. */
function distance(body: Body, rho: number, z: number, rho_step: number, z_step: number): number {
  let square = Infinity;
  let gap_rho = 0;
  let gap_z = 0;
  let deepest = -Infinity;
  let deep = 0;
  for (let k = 0; k < body.length; k += EDGE) {
    const from_rho = rho - (body[k] as number);
    const from_z = z - (body[k + 1] as number);
    const along_rho = body[k + 2] as number;
    const along_z = body[k + 3] as number;
    const length = body[k + 4] as number;
    const outward = from_rho * along_z - from_z * along_rho;
    if (outward > deepest) {
      deepest = outward;
      deep = k;
    }
    let along = from_rho * along_rho + from_z * along_z;
    along = along < 0 ? 0 : along > length ? length : along;
    const a = from_rho - along * along_rho;
    const b = from_z - along * along_z;
    const s = a * a + b * b;
    if (s < square) {
      square = s;
      gap_rho = a;
      gap_z = b;
    }
  }
  if (deepest <= 0) {
    slope = (body[deep + 5] as number) * rho_step + (body[deep + 6] as number) * z_step;
    return deepest;
  }
  const d = Math.sqrt(square);
  slope = d > 0 ? (gap_rho * rho_step + gap_z * z_step) / d : 0;
  return d;
}

/** Clearance of capsule `c` at a pose given row-major 3 x 4; fills `out`. `pupil_z` is the entrance pupil's z. */
export function capsuleClearance(
  body: Body,
  capsules: Capsules,
  c: number,
  m: Float64Array,
  pupil_z: number,
  out: Along,
): number {
  const i = c * 8;
  const ax = capsules[i] as number;
  const ay = capsules[i + 1] as number;
  const az = capsules[i + 2] as number;
  const bx = capsules[i + 4] as number;
  const by = capsules[i + 5] as number;
  const bz = capsules[i + 6] as number;
  const m0 = m[0] as number;
  const m1 = m[1] as number;
  const m2 = m[2] as number;
  const m5 = m[5] as number;
  const m6 = m[6] as number;
  const m8 = m[8] as number;
  const m9 = m[9] as number;
  const m10 = m[10] as number;
  const x0 = m0 * ax + m1 * ay + m2 * az + (m[3] as number);
  const y0 = m5 * ay + m6 * az + (m[7] as number);
  const z0 = m8 * ax + m9 * ay + m10 * az + (m[11] as number);
  const dx = m0 * (bx - ax) + m1 * (by - ay) + m2 * (bz - az);
  const dy = m5 * (by - ay) + m6 * (bz - az);
  const dz = m8 * (bx - ax) + m9 * (by - ay) + m10 * (bz - az);
  const r0 = capsules[i + 3] as number;
  const widening = (capsules[i + 7] as number) - r0;
  out.far_mm = Math.sqrt(
    Math.max(
      x0 * x0 + y0 * y0 + (z0 - pupil_z) ** 2,
      (x0 + dx) ** 2 + (y0 + dy) ** 2 + (z0 + dz - pupil_z) ** 2,
    ),
  );
  let t = 0.5;
  let width = 0.25;
  for (let n = 0; n < HALVINGS; n++, width *= 0.5) {
    const x = x0 + t * dx;
    const y = y0 + t * dy;
    const rho = Math.sqrt(x * x + y * y);
    distance(body, rho, z0 + t * dz, rho > 0 ? (x * dx + y * dy) / rho : 0, dz);
    t += slope > widening ? -width : width;
  }
  if (t < 2 * width) t = 0;
  else if (t > 1 - 2 * width) t = 1;
  out.t = t;
  const x = x0 + t * dx;
  const y = y0 + t * dy;
  return distance(body, Math.sqrt(x * x + y * y), z0 + t * dz, 0, 0) - (r0 + t * widening);
}

/** The nearest capsule of all at a pose. */
export interface Nearest {
  clearance_mm: number;
  capsule: number;
  t: number;
}

export function nearestCapsule(body: Body, capsules: Capsules, m: Float64Array): Nearest {
  const out: Along = { t: 0, far_mm: 0 };
  const found: Nearest = { clearance_mm: Infinity, capsule: 0, t: 0 };
  for (let c = 0; c * 8 < capsules.length; c++) {
    const clearance = capsuleClearance(body, capsules, c, m, 0, out);
    if (clearance < found.clearance_mm) {
      found.clearance_mm = clearance;
      found.capsule = c;
      found.t = out.t;
    }
  }
  return found;
}
