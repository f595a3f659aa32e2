/** The desk's own words for what the log's codes mean. */

import type { EyeSide, Harm, IncidentRow, Modality } from "../types.gen";
import { patientSide } from "../ui";

/** World Health Organization, Conceptual Framework for the International Classification for Patient Safety,
 * version 1.1 (2009): degree of harm. */
export const HARM_SCALE = "WHO degree of harm";
/** For narrow headings: the word, with its scale. */
export const HARM_HEADING = "Harm (WHO degree)";
export const HARMS: Harm[] = ["none", "mild", "moderate", "severe", "death"];

export function harmWords(harm: string | null): string {
  return harm === null ? "not yet known" : harm;
}

export function reachedWords(reached: boolean | null): string {
  if (reached === null) return "not yet known";
  return reached ? "yes" : "no";
}

export const STATE_WORDS: Record<IncidentRow["state"], string> = {
  new: "new",
  in_review: "in review",
  actions_open: "actions open",
  closed: "closed",
};

export function kindWords(row: Pick<IncidentRow, "near_miss" | "reached_patient">): string {
  if (row.near_miss) return "near miss";
  return row.reached_patient === null ? "event, reach not yet known" : "event";
}

const MODALITIES: Record<Modality, string> = {
  colour: "colour",
  fluorescein: "fluorescein",
  indocyanine_green: "indocyanine green",
};

export const modalityWords = (modality: string): string =>
  MODALITIES[modality as Modality] ?? plain(modality);

/** An id that no pack could name, made readable: `touched_by_optic` becomes "touched by optic". */
export const plain = (id: string): string => id.replaceAll(/[_.-]+/g, " ").trim();

/** `Spanish` for `es`; the tag where the browser does not know it. */
export function languageWords(tag: string): string {
  try {
    return new Intl.DisplayNames(["en"], { type: "language", fallback: "code" }).of(tag) ?? tag;
  } catch {
    return tag;
  }
}

/** `3 o'clock, far ring` for `far-3`, as one faces the eye. */
export const sectorWords = (id: string): string =>
  sentence(
    id.replace(
      /^(mid|far)-(\d+)$/,
      (_, ring, hour) => `${hour} o'clock, ${ring === "mid" ? "middle" : "far"} ring`,
    ),
  );

export const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const degrees = (value: number): string => {
  const shown = Math.round(Math.abs(value) * 10) / 10;
  return `${shown}°`;
};

/** Yaw positive: the face turned toward the fellow eye's side, as the patient has it. */
export function turnWords(yaw_deg: number | null | undefined, eye: EyeSide): string {
  if (yaw_deg === null || yaw_deg === undefined) return "not recorded";
  if (Math.abs(yaw_deg) < 0.05) return "none";
  return `${degrees(yaw_deg)} to the patient's ${patientSide(eye, yaw_deg)}`;
}

export function chinWords(pitch_deg: number | null | undefined): string {
  if (pitch_deg === null || pitch_deg === undefined) return "not recorded";
  if (Math.abs(pitch_deg) < 0.05) return "level";
  return `${degrees(pitch_deg)} ${pitch_deg > 0 ? "up" : "down"}`;
}

/** Gaze against the instrument's axis: horizontal nasal positive, vertical up positive. */
export function gazeWords(gaze: [number, number] | null | undefined): string {
  if (!gaze) return "not recorded";
  const [h, v] = gaze;
  const parts = [];
  if (Math.abs(h) >= 0.05) parts.push(`${degrees(h)} ${h > 0 ? "nasal" : "temporal"}`);
  if (Math.abs(v) >= 0.05) parts.push(`${degrees(v)} ${v > 0 ? "up" : "down"}`);
  return parts.length ? parts.join(", ") : "straight into the optic";
}

export const mm = (value: number | null | undefined): string =>
  value === null || value === undefined ? "not recorded" : `${Math.round(value * 10) / 10} mm`;

export const deg = (value: number | null | undefined): string =>
  value === null || value === undefined ? "not recorded" : degrees(value);

const CLOSENESS: Record<string, string> = {
  likely_clear: "likely clear",
  close: "close",
  expect_to_adjust: "expect to adjust",
};

export const closenessWords = (words: string | null | undefined): string =>
  words ? (CLOSENESS[words] ?? plain(words)) : "not said";

const NO_TURN: Record<string, string> = {
  child_no_computed_turn: "No turn computed: the face tables do not hold for a child.",
  unusual_face_no_computed_turn: "No turn computed: the face tables do not hold for this face.",
  clearance_below_margin: "No pose keeps the margin from the face.",
  distance_outside_tolerance: "The distance is outside the optic's tolerance.",
  eye_beyond_limit: "The eye would turn beyond its limit.",
  eye_cannot_reach_gaze: "The eye cannot reach this gaze.",
  neck_beyond_limit: "The neck would turn beyond its limit.",
  no_pose_clears_face: "No pose clears the face with this optic.",
};

export const noTurnWords = (reason: string): string => NO_TURN[reason] ?? `${sentence(plain(reason))}.`;
