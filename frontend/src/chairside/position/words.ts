/**
 * Directions in words. The model speaks of nasal and temporal, so that one set of numbers serves both eyes;
 * a person at the chin rest hears the patient's own left and right.
 */
import type { EyeSide, TouchWord } from "../../types.gen";
import { patientSide } from "../../ui";

/** Whole degrees with a real minus sign never shown: direction is said in words. */
export function degrees(value: number): string {
  return `${Math.abs(Math.round(value))}°`;
}

export function millimetres(value: number): string {
  const rounded = Math.round(value * 10) / 10;
  const text = Math.abs(rounded).toFixed(1);
  return `${rounded < 0 ? "−" : ""}${text} mm`;
}

/** A gap in mm; where the solids overlap there is none. */
export function gapWords(clearance_mm: number): string {
  return clearance_mm <= 0 ? "touches" : millimetres(clearance_mm);
}

/** The words beside the number, without the number itself; `asked`: a turn that nobody advised. */
export function turnDirection(eye: EyeSide, yaw_deg: number, asked = false): string {
  if (Math.round(yaw_deg) === 0)
    return asked ? "What if the face looks straight ahead" : "No turn: face straight ahead";
  return `${asked ? "What if turned" : "Turn the face"} to the patient's ${patientSide(eye, yaw_deg)}`;
}

/** The whole instruction, as it is said aloud and logged in a record. */
export function turnSentence(eye: EyeSide, yaw_deg: number): string {
  if (Math.round(yaw_deg) === 0) return "Keep the face straight ahead";
  return `Turn the face ${degrees(yaw_deg)} to the patient's ${patientSide(eye, yaw_deg)}`;
}

export function chinSentence(pitch_deg: number): string {
  if (Math.round(pitch_deg) === 0) return "Chin level";
  return `Chin ${pitch_deg > 0 ? "up" : "down"} ${degrees(pitch_deg)}`;
}

/** Joins a sideways and an up-down part: "20° to the patient's left and 10° up". */
function direction(eye: EyeSide, [h, v]: readonly [number, number]): string {
  const parts: string[] = [];
  if (Math.round(h) !== 0) parts.push(`${degrees(h)} to the patient's ${patientSide(eye, h)}`);
  if (Math.round(v) !== 0) parts.push(`${degrees(v)} ${v > 0 ? "up" : "down"}`);
  return parts.join(" and ");
}

/** Where the eye points, seen from the instrument's axis. */
export function gazeWords(eye: EyeSide, gaze_deg: readonly [number, number]): string {
  const words = direction(eye, gaze_deg);
  return words === "" ? "straight into the optic" : `${words} of the optic`;
}

export function gazeSentence(eye: EyeSide, gaze_deg: readonly [number, number]): string {
  return `The eye looks ${gazeWords(eye, gaze_deg)}`;
}

/** How far the eye is turned in its head: what the patient feels. */
export function eyeTurnWords(eye_in_head_deg: readonly [number, number]): string {
  const [h, v] = eye_in_head_deg;
  const parts: string[] = [];
  if (Math.round(h) !== 0) parts.push(`${degrees(h)} toward the ${h > 0 ? "nose" : "temple"}`);
  if (Math.round(v) !== 0) parts.push(`${degrees(v)} ${v > 0 ? "up" : "down"}`);
  return parts.length === 0 ? "straight in the head" : `${parts.join(" and ")} in the head`;
}

export function distanceSentence(distance_mm: number, nominal_mm: number): string {
  const more = distance_mm - nominal_mm;
  const base = `${millimetres(distance_mm)} from cornea to front rim`;
  return more >= 0.05 ? `${base}, ${millimetres(more)} further back than nominal` : base;
}

/** The outside light, from the point straight before the fellow eye; right and up as the patient sees it. */
export function lightWords([right, up]: readonly [number, number], target_cm: number): string {
  const parts: string[] = [];
  const aside = Math.round(Math.abs(right));
  const height = Math.round(Math.abs(up));
  if (aside !== 0) parts.push(`${aside} cm to the patient's ${right > 0 ? "right" : "left"}`);
  if (height !== 0) parts.push(`${height} cm ${up > 0 ? "up" : "down"}`);
  const where = parts.length === 0 ? "straight before the fellow eye" : parts.join(" and ");
  return `${where}, ${Math.round(target_cm)} cm away`;
}

export function lightSentence(offset_cm: readonly [number, number], target_cm: number): string {
  return `Light ${lightWords(offset_cm, target_cm)}`;
}

const TOUCH: Record<TouchWord, { short: string; long: string }> = {
  likely_clear: {
    short: "Likely clear",
    long: "Most faces with these measures clear the optic in this position.",
  },
  close: {
    short: "Close",
    long: "Some faces with these measures touch in this position. Approach very slowly.",
  },
  expect_to_adjust: {
    short: "Expect to adjust",
    long: "Many faces with these measures need more than this. Approach in small steps and stop early.",
  },
};

export function touchWords(word: TouchWord): { short: string; long: string } {
  return TOUCH[word];
}

/** The pack's own word for a landmark or nearest place; its id made readable where the pack has none. */
export function placeWords(id: string, choices: readonly { id: string; text: string }[]): string {
  return choices.find((choice) => choice.id === id)?.text ?? id.replaceAll("_", " ");
}
