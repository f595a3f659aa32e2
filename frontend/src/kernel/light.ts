/** An outside light for the fellow eye: where it hangs, and whether nose, face or instrument would hide it. */
import type { Eye, FaceTables, Landmark, LightRefusalCode } from "../types.gen";
import { type Body, type Capsules, nearestCapsule } from "./clearance";
import { clamp, entrancePupil, RAD } from "./pose";

const FARTHEST_DEG = 60;
const NOSE: readonly Landmark[] = ["nasal_root", "bridge", "tip", "nasal_flank", "glabella"];

/** [right, up] as the patient sees it, from the point straight before the fellow eye. */
export function lightOffset(
  h_deg: number,
  v_deg: number,
  target_cm: number,
  right_eye: boolean,
): [number, number] {
  const nasal = target_cm * Math.tan(h_deg * RAD);
  // adding zero turns a minus zero into a plain one
  return [(right_eye ? -nasal : nasal) + 0, (target_cm * Math.tan(v_deg * RAD)) / Math.cos(h_deg * RAD) + 0];
}

/** Gap between capsule `c` and the straight piece a-b; `flip_mm` mirrors the capsule about the mid-plane. */
function gapToLine(capsules: Capsules, c: number, flip_mm: number | null, a: number[], b: number[]): number {
  const i = c * 8;
  const at = (k: number): number => capsules[i + k] as number;
  const side = (x: number): number => (flip_mm === null ? x : flip_mm - x);
  const start = [side(at(0)), at(1), at(2)];
  const axis = [side(at(4)) - (start[0] as number), at(5) - at(1), at(6) - at(2)];
  const line = [0, 1, 2].map((k) => (b[k] as number) - (a[k] as number));
  const between = [0, 1, 2].map((k) => (start[k] as number) - (a[k] as number));
  const dot = (u: number[], w: number[]): number => u.reduce((sum, x, k) => sum + x * (w[k] as number), 0);
  const aa = dot(axis, axis);
  const al = dot(axis, line);
  const ll = dot(line, line);
  const ab = dot(axis, between);
  const lb = dot(line, between);
  const parallel = aa * ll - al * al;
  let s = parallel > 1e-12 ? clamp((al * lb - ll * ab) / parallel, 0, 1) : 0;
  const t = clamp((al * s + lb) / ll, 0, 1);
  s = clamp((al * t - ab) / (aa > 0 ? aa : 1), 0, 1);
  const gap = [0, 1, 2].map(
    (k) => (between[k] as number) + s * (axis[k] as number) - t * (line[k] as number),
  );
  return Math.sqrt(dot(gap, gap)) - Math.max(at(3), at(7));
}

/** Why the light would be hidden at this pose, or null. The face is taken as symmetric about its mid-plane. */
export function lightRefusal(
  tables: FaceTables,
  capsules: Capsules,
  body: Body,
  m: Float64Array,
  eye: Eye,
  pd_mm: number,
  h_deg: number,
  v_deg: number,
  target_cm: number,
  sight_mm: number,
): LightRefusalCode | null {
  if (Math.max(Math.abs(h_deg), Math.abs(v_deg)) > FARTHEST_DEG) return "too_far_aside";
  const own = entrancePupil(eye, -h_deg, v_deg);
  const start = [pd_mm - own[0], own[1], own[2]];
  const h = h_deg * RAD;
  const v = v_deg * RAD;
  const far = 10 * target_cm;
  const end = [pd_mm + far * Math.tan(h), (far * Math.tan(v)) / Math.cos(h), far];
  for (const flip of [null, pd_mm]) {
    for (let c = 0; c * 8 < capsules.length; c++) {
      if (gapToLine(capsules, c, flip, start, end) >= sight_mm) continue;
      const ends = tables.capsules[c];
      const nose = ends && NOSE.includes(ends.start.landmark) && NOSE.includes(ends.end.landmark);
      return nose ? "hidden_by_nose" : "hidden_by_face";
    }
  }
  const line = Float64Array.from([...start, sight_mm, ...end, sight_mm]);
  return nearestCapsule(body, line, m).clearance_mm < 0 ? "hidden_by_instrument" : null;
}
