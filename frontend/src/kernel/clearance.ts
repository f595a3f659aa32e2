/**
 * Clearance: the least signed distance between rounded capsules and a convex body of revolution, mm.
 *
 * A capsule is the union of balls along its axis, so its distance is the least over t of d(p(t)) - r(t): convex in
 * t. Its slope is halved in on a fixed number of times. Overlap is minus the deepest ball's depth.
 */

export const HALVINGS = 18;
const EDGE = 7;

/** Edges in the half plane (distance from the axis, z): start, direction, length, outward normal; seven numbers each. */
export type Body = Float64Array;
/** x0, y0, z0, r0, x1, y1, z1, r1 for each capsule. */
export type Capsules = Float64Array;
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

/** One capsule in the instrument frame: start, step to the end, first radius, change of radius. */
export interface Carried {
  x: number;
  y: number;
  z: number;
  dx: number;
  dy: number;
  dz: number;
  r: number;
  widening: number;
}

export function newCarried(): Carried {
  return { x: 0, y: 0, z: 0, dx: 0, dy: 0, dz: 0, r: 0, widening: 0 };
}

/** Carries capsule `c` by a pose given row-major 3 x 4 (its fifth entry is zero: yaw, then pitch). */
export function carry(out: Carried, capsules: Capsules, c: number, m: Float64Array): Carried {
  const i = c * 8;
  const ax = capsules[i] as number;
  const ay = capsules[i + 1] as number;
  const az = capsules[i + 2] as number;
  const dx = (capsules[i + 4] as number) - ax;
  const dy = (capsules[i + 5] as number) - ay;
  const dz = (capsules[i + 6] as number) - az;
  const m0 = m[0] as number;
  const m1 = m[1] as number;
  const m2 = m[2] as number;
  const m5 = m[5] as number;
  const m6 = m[6] as number;
  const m8 = m[8] as number;
  const m9 = m[9] as number;
  const m10 = m[10] as number;
  out.x = m0 * ax + m1 * ay + m2 * az + (m[3] as number);
  out.y = m5 * ay + m6 * az + (m[7] as number);
  out.z = m8 * ax + m9 * ay + m10 * az + (m[11] as number);
  out.dx = m0 * dx + m1 * dy + m2 * dz;
  out.dy = m5 * dy + m6 * dz;
  out.dz = m8 * dx + m9 * dy + m10 * dz;
  out.r = capsules[i + 3] as number;
  out.widening = (capsules[i + 7] as number) - out.r;
  return out;
}

/** Distance of a carried capsule's farther end from a point of the axis, mm. */
export function farther(k: Carried, axis_z: number): number {
  const z = k.z - axis_z;
  const x1 = k.x + k.dx;
  const y1 = k.y + k.dy;
  const z1 = z + k.dz;
  return Math.sqrt(Math.max(k.x * k.x + k.y * k.y + z * z, x1 * x1 + y1 * y1 + z1 * z1));
}

/** Length of its axis and change of its radius: how much clearance can change from end to end, mm. */
export function span(k: Carried): number {
  return Math.sqrt(k.dx * k.dx + k.dy * k.dy + k.dz * k.dz) + Math.abs(k.widening);
}

/** Clearance at the middle of the axis: less half the span, a bound for the whole capsule at little cost. */
export function middleClearance(body: Body, k: Carried): number {
  const x = k.x + 0.5 * k.dx;
  const y = k.y + 0.5 * k.dy;
  return distance(body, Math.sqrt(x * x + y * y), k.z + 0.5 * k.dz, 0, 0) - (k.r + 0.5 * k.widening);
}

/** Where along the capsule it was nearest in the last search: 0 start, 1 end. */
let nearest_t = 0;

/** Clearance of a carried capsule; after n halvings too great by at most span / 2^(n + 1). */
export function searchClearance(body: Body, k: Carried, halvings: number): number {
  const { x: x0, y: y0, z: z0, dx, dy, dz, widening } = k;
  let t = 0.5;
  let width = 0.25;
  for (let n = 0; n < halvings; n++, width *= 0.5) {
    const x = x0 + t * dx;
    const y = y0 + t * dy;
    const rho = Math.sqrt(x * x + y * y);
    distance(body, rho, z0 + t * dz, rho > 0 ? (x * dx + y * dy) / rho : 0, dz);
    t += slope > widening ? -width : width;
  }
  if (t < 2 * width) t = 0;
  else if (t > 1 - 2 * width) t = 1;
  nearest_t = t;
  const x = x0 + t * dx;
  const y = y0 + t * dy;
  return distance(body, Math.sqrt(x * x + y * y), z0 + t * dz, 0, 0) - (k.r + t * widening);
}

/** The nearest capsule of all at a pose. */
export interface Nearest {
  clearance_mm: number;
  capsule: number;
  t: number;
}

export function nearestCapsule(body: Body, capsules: Capsules, m: Float64Array): Nearest {
  const carried = newCarried();
  const found: Nearest = { clearance_mm: Infinity, capsule: 0, t: 0 };
  for (let c = 0; c * 8 < capsules.length; c++) {
    const clearance = searchClearance(body, carry(carried, capsules, c, m), HALVINGS);
    if (clearance < found.clearance_mm) {
      found.clearance_mm = clearance;
      found.capsule = c;
      found.t = nearest_t;
    }
  }
  return found;
}
