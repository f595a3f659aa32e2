/** A phone proves its kernel before it trusts a pack: each check vector is asked again and compared. */
import type { FitResult, FitVector, Pack } from "../types.gen";
import { checkCells } from "./cells";
import { checkDoses } from "./dosecheck";
import { fit as ask, type FitPack } from "./fit";
import { checkSeries, type SeriesProved } from "./seriesVectors";

/** Clearance at the same pose, mm; angles at the same pose, degrees; lengths of offsets, cm. */
const CLEARANCE_MM = 0.05;
const SAME = 1e-3;
/** A solved pose may differ where its discomfort does not: share, and floor. */
const DISCOMFORT = 0.01;
const DISCOMFORT_FLOOR = 1e-4;
const DISTANCE_MM = 1e-6;

/** What is proved of a pack; the parts that an older pack has not are not asked for. */
export type Proved = FitPack &
  SeriesProved &
  Pick<Pack, "fit_vectors"> &
  Partial<Pick<Pack, "retina" | "regions" | "cell_vectors" | "dosing" | "dyes" | "dose_vectors">>;

/** Words for each disagreement; empty when the kernels agree with the pack's reference. */
export function checkVectors(pack: Proved): string[] {
  return [...checkPositions(pack), ...checkCells(pack), ...checkDoses(pack), ...checkSeries(pack)];
}

function checkPositions(pack: Proved): string[] {
  if (pack.fit_vectors.length === 0) return ["the pack carries no check vectors for the head position"];
  return pack.fit_vectors.flatMap((vector, i) => {
    try {
      return compare(pack, vector).map((why) => `head position, check ${i + 1}: ${why}`);
    } catch (error) {
      return [`head position, check ${i + 1}: ${error instanceof Error ? error.message : String(error)}`];
    }
  });
}

function compare(pack: FitPack, vector: FitVector): string[] {
  const { request } = vector;
  const faults: string[] = [];
  const say = (what: string, got: unknown, wanted: unknown): void => {
    faults.push(`${what} is ${show(got)} here and ${show(wanted)} in the pack`);
  };
  const near = (what: string, got: number | null, wanted: number | null, within: number): void => {
    if (got === null || wanted === null ? got !== wanted : !(Math.abs(got - wanted) <= within)) {
      say(what, got, wanted);
    }
  };
  const answer = ask(pack, request);
  if (answer.feasible !== vector.feasible) say("'it fits'", answer.feasible, vector.feasible);
  if ((answer.reason?.code ?? null) !== vector.reason) say("the reason", answer.reason?.code, vector.reason);
  near("the distance (mm)", answer.working_distance_mm, vector.working_distance_mm, DISTANCE_MM);
  if (request.at_deg === null && answer.discomfort !== null && vector.discomfort !== null) {
    const within = DISCOMFORT * vector.discomfort + DISCOMFORT_FLOOR;
    near("the discomfort", answer.discomfort, vector.discomfort, within);
    if (answer.clearance_mm === null || answer.clearance_mm < pack.limits.margin_mm) {
      say("the gap (mm)", answer.clearance_mm, `at least ${pack.limits.margin_mm}`);
    }
  }
  samePose(pack, vector, answer, near, say);
  return faults;
}

/** The rest is compared at the reference's own pose, where nothing is free to differ. */
function samePose(
  pack: FitPack,
  vector: FitVector,
  solved: FitResult,
  near: (what: string, got: number | null, wanted: number | null, within: number) => void,
  say: (what: string, got: unknown, wanted: unknown) => void,
): void {
  const { yaw_deg, pitch_deg } = vector;
  if (yaw_deg === null || pitch_deg === null) {
    near("the turn (deg)", solved.yaw_deg, null, 0);
    return;
  }
  const at = ask(pack, {
    ...vector.request,
    at_deg: [yaw_deg, pitch_deg],
    at_distance_mm: vector.working_distance_mm,
  });
  near("the gap (mm)", at.clearance_mm, vector.clearance_mm, CLEARANCE_MM);
  if (at.nearest !== vector.nearest) say("the nearest place", at.nearest, vector.nearest);
  near("the field (deg)", at.field_deg, vector.field_deg, SAME);
  near("the discomfort at one pose", at.discomfort, vector.discomfort, SAME);
  for (const k of [0, 1] as const) {
    near("the eye's turn (deg)", at.eye_in_head_deg?.[k] ?? null, vector.eye_in_head_deg?.[k] ?? null, SAME);
    near(
      "the light's place (cm)",
      at.outside_light_cm?.[k] ?? null,
      vector.outside_light_cm?.[k] ?? null,
      SAME,
    );
  }
  const code = at.outside_light_refused?.code ?? null;
  if (code !== vector.outside_light_refused)
    say("why there is no outside light", code, vector.outside_light_refused);
}

function show(value: unknown): string {
  if (typeof value === "number") return String(Number(value.toPrecision(6)));
  return value === null || value === undefined ? "none" : String(value);
}
