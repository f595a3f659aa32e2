/** From the face tables and one patient's measures to capsules in the head frame: only products and sums. */
import type { CapsuleEnd, Face, FaceMeasures, FaceTables, Landmark } from "../types.gen";
import type { Capsules } from "./clearance";

/** A measure or a request that cannot be answered: which field, and why. */
export class InputError extends Error {
  constructor(
    readonly field: string,
    readonly why: string,
  ) {
    super(`${field}: ${why}`);
    this.name = "InputError";
  }
}

/** How one patient differs from the tables' reference, mm: pupil distance, eye depth, nose, brow. */
export type Shifts = readonly [number, number, number, number];

/** A number as the sentences write it: at most six figures, no trailing zeros. */
export const plain = (value: number): string => String(Number(value.toPrecision(6)));

export function shiftsOf(tables: FaceTables, measures: FaceMeasures): Shifts {
  const depth =
    typeof measures.exophthalmometry === "string"
      ? tables.eye_depth.classes[measures.exophthalmometry].value_mm
      : measures.exophthalmometry;
  for (const [field, value, range] of [
    ["pd_mm", measures.pd_mm, tables.pd_range],
    ["exophthalmometry", depth, tables.exophthalmometry_range],
  ] as const) {
    if (!(value >= range.low && value <= range.high)) {
      throw new InputError(
        field,
        `${plain(value)} mm is outside ${plain(range.low)} to ${plain(range.high)} mm: ${range.why}`,
      );
    }
  }
  return [
    measures.pd_mm - tables.pd_reference_mm,
    depth - tables.eye_depth.reference_mm,
    tables.nose_classes[measures.nose].value_mm,
    tables.brow_classes[measures.brow].value_mm,
  ];
}

export function capsulesOf(tables: FaceTables, face: Face, shifts: Shifts): Capsules {
  const capsules = new Float64Array(tables.capsules.length * 8);
  const put = (at: number, end: CapsuleEnd): void => {
    const place = face.landmarks[end.landmark];
    for (let axis = 0; axis < 3; axis++) {
      capsules[at + axis] =
        (place.mean_mm[axis] as number) +
        shifts[0] * (place.per_pd[axis] as number) +
        shifts[1] * (place.per_exophthalmometry[axis] as number) +
        shifts[2] * (place.nose_direction[axis] as number) +
        shifts[3] * (place.brow_direction[axis] as number) +
        (end.inset_mm[axis] as number);
    }
    capsules[at + 3] = end.radius_mm;
  };
  tables.capsules.forEach((capsule, c) => {
    put(c * 8, capsule.start);
    put(c * 8 + 4, capsule.end);
  });
  return capsules;
}

/** The landmark that a place on a capsule is nearest to. */
export function landmarkAt(tables: FaceTables, capsule: number, t: number): Landmark {
  const found = tables.capsules[capsule];
  if (found === undefined) throw new Error(`no capsule ${capsule}`);
  return (t <= 0.5 ? found.start : found.end).landmark;
}
