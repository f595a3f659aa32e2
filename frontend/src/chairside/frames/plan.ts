/** The frames of one eye with one optic: which are asked for, how each stands, and when the eye moves far. */
import type { Field, FrameTaken, Modality } from "../../types.gen";

export interface FrameRow {
  field: Field;
  modality: Modality;
  /** The newest answer, or null. */
  outcome: FrameTaken["outcome"] | null;
  reason: string;
  /** How often it was shot, "again" included. */
  tries: number;
}

/** Whether a move of the gaze asks for "draw back, move, approach"; `large_deg` is the pack's. */
export function isLargeMove(
  from: readonly [number, number],
  to: readonly [number, number],
  large_deg: number,
): boolean {
  return Math.hypot(to[0] - from[0], to[1] - from[1]) >= large_deg;
}

/** The kind of image a field is for: its own where it names one, else the first that the request asks for. */
export function fieldModality(field: Field, asked: readonly Modality[]): Modality {
  return (
    field.when.modalities.find((m) => asked.includes(m)) ?? field.when.modalities[0] ?? asked[0] ?? "colour"
  );
}

/** `taken` are the case's frames as they stand, oldest first, for every eye and optic. */
export function frameRows(
  fields: readonly Field[],
  taken: readonly FrameTaken[],
  where: { eye: string; optic: string; asked: readonly Modality[] },
): FrameRow[] {
  return fields.map((field) => {
    const mine = taken.filter((t) => t.field === field.id && t.eye === where.eye && t.optic === where.optic);
    const last = mine.at(-1);
    return {
      field,
      modality: fieldModality(field, where.asked),
      outcome: last?.outcome ?? null,
      reason: last?.reason ?? "",
      tries: mine.filter((t) => t.outcome !== "missed").length,
    };
  });
}

/** The next frame to take: the first without an answer, then the first to be taken again. */
export function nextFrame(rows: readonly FrameRow[]): FrameRow | null {
  return rows.find((r) => r.outcome === null) ?? rows.find((r) => r.outcome === "again") ?? null;
}
