/** Which parts of a line can be corrected, and from which answers. Pure: the lists come from the pack. */

import type { BodyOf, Pack } from "../../types.gen";
import type { NumberRule } from "../../ui";
import { languageName } from "../languages";
import { LATE_HOURS } from "../safety/record";
import { SECTOR_WORD } from "../tell/plans";
import { FRAME_WORD, METHOD_WORD, OUTCOME_WORD, POSE_WORD } from "../tell/types";
import { EYE_WORD, MODALITY_WORD } from "../words";
import { DYE_PARTS } from "./dye";
import { REACTION_PARTS } from "./reactions";

type Listed = readonly { id: string; text: string; help?: string }[];

export type Part =
  | { key: string; label: string; kind: "text"; most: number; needed: boolean }
  | { key: string; label: string; kind: "number"; rule: NumberRule; mayBeEmpty: boolean }
  | { key: string; label: string; kind: "yesno" }
  | { key: string; label: string; kind: "one"; options: Listed; mayBeEmpty: boolean }
  | { key: string; label: string; kind: "many"; options: Listed; needed: boolean };

const words = (record: Record<string, string>): Listed =>
  Object.entries(record).map(([id, text]) => ({ id, text }));
const plain = (...ids: string[]): Listed =>
  ids.map((id) => ({ id, text: id.charAt(0).toUpperCase() + id.slice(1) }));
const EYES = words(EYE_WORD);
const languagesOf = ({ phrases }: Pack): Listed =>
  Object.keys(phrases).map((id) => ({ id, text: languageName(id) }));

const text = (key: string, label: string, most = 300): Part => ({
  key,
  label,
  kind: "text",
  most,
  needed: false,
});
const one = (key: string, label: string, options: Listed, mayBeEmpty = false): Part => ({
  key,
  label,
  kind: "one",
  options,
  mayBeEmpty,
});
const many = (key: string, label: string, options: Listed, needed = false): Part => ({
  key,
  label,
  kind: "many",
  options,
  needed,
});
const number = (
  key: string,
  label: string,
  unit: string,
  least: number,
  most: number,
  decimals = 0,
): Part => ({
  key,
  label,
  kind: "number",
  rule: { unit, least, most, decimals },
  mayBeEmpty: false,
});
const rim = ({ faces }: Pack): Part => {
  const { low, high } = faces.exophthalmometry_range;
  return number("exophthalmometry", "At the outer rim", "mm", low, high, 1);
};
const NOTE = text("note", "Note");
const EYE = one("eye", "Eye", EYES);

const PARTS: { [T in keyof BodyOf]?: (pack: Pack | null, body: Record<string, unknown>) => Part[] } = {
  ...DYE_PARTS,
  ...REACTION_PARTS,
  "case.opened": (p) => [
    { key: "code", label: "Case code", kind: "text", most: 40, needed: true },
    many("eyes", "Eyes", EYES, true),
    one("study_eye", "Study eye", EYES, true),
    many("modalities", "Asked for", words(MODALITY_WORD), true),
    { key: "cross_sections", label: "Cross-sections asked for", kind: "yesno" },
    ...(p ? [many("flags", "What to know", p.choices.flags)] : []),
    NOTE,
  ],
  "case.flagged": (p) => (p ? [many("flags", "What to know", p.choices.flags)] : []),
  "optic.chosen": (p) => [...(p ? [one("optic", "Optic", named(p.optics))] : []), text("reason", "Why")],
  "step.done": (_p, body) => (typeof body.value === "string" ? [text("value", "What was entered")] : []),
  "step.skipped": (p) => [...(p ? [one("reason", "Reason", p.choices.skip_reasons)] : []), NOTE],
  "face.measured": (p, body) => [
    EYE,
    ...(p
      ? [number("pd_mm", "Between the pupils", "mm", p.faces.pd_range.low, p.faces.pd_range.high, 1)]
      : []),
    ...(p && typeof body.exophthalmometry === "number" ? [rim(p)] : []),
    ...(typeof body.exophthalmometry === "string"
      ? [one("exophthalmometry", "Set of the eye", plain("deep-set", "average", "prominent"))]
      : []),
    one("nose", "Bridge of the nose", plain("low", "medium", "high")),
    one("brow", "Brow", plain("flat", "medium", "heavy")),
    one("neck", "Neck", plain("free", "limited", "fixed")),
    ...(p
      ? [
          one("age_band", "Age", p.choices.age_bands),
          one("unusual", "Why no turn is computed", p.choices.unusual, true),
        ]
      : []),
  ],
  "pupil.measured": () => [
    EYE,
    number("pupil_mm", "Pupil", "mm", 1, 10, 1),
    { key: "dilated", label: "After drops", kind: "yesno" },
  ],
  "fixation.chosen": () => [
    EYE,
    one("method", "Way to guide the eye", words(METHOD_WORD)),
    { key: "imaged_sees", label: "The imaged eye sees the light", kind: "yesno" },
    { key: "fellow_sees", label: "The fellow eye sees the light", kind: "yesno" },
    { key: "squint", label: "Squint", kind: "yesno" },
    { key: "drifts", label: "The eye drifts", kind: "yesno" },
  ],
  "pose.found": (p) => [
    EYE,
    one("outcome", "How it was", words(POSE_WORD)),
    { ...number("by_deg", "By how much", "°", 0, 60), mayBeEmpty: true } as Part,
    ...(p ? [one("nearest", "Nearest", p.choices.nearest, true)] : []),
    { key: "touched", label: "Touched", kind: "yesno" },
  ],
  "frame.taken": (p) => [
    EYE,
    one("outcome", "How it went", words(FRAME_WORD)),
    ...(p
      ? [one("field", "Frame", named(p.fields)), one("reason", "Why again", p.choices.frame_again, true)]
      : []),
  ],
  "plan.chosen": () => [EYE, text("reason", "Reason")],
  "sweep.sector": () => [EYE, one("state", "How it stands", words(SECTOR_WORD))],
  "language.chosen": (p) => [...(p ? [one("language", "Language", languagesOf(p))] : [])],
  "series.stopped": () => [text("why", "Why")],
  "clock.uncertain": (_p, body) => [
    ...(typeof body.agreed_s === "number"
      ? [number("agreed_s", "Agreed, since the dye", "s", 0, 7200, 1)]
      : []),
    text("by", "Who says so", 40),
  ],
  "comfort.noted": (p) => [
    number("score", "Comfort", "", 0, 10),
    ...(p ? [many("bothers", "What bothers", p.choices.bothers)] : []),
    NOTE,
  ],
  "pause.noted": () => [text("why", "Why")],
  "safety.noted": (p, body) =>
    p
      ? [
          one("what", "What happened", p.choices.safety_what),
          one("reached_patient", "Did it reach the patient?", REACHED),
          one("harm", `Harm (${p.choices.harm_scale})`, p.choices.harm, true),
          many("signs", "Signs", p.choices.signs),
          many("done", "What was done", p.choices.safety_done),
          many("told", "Who was told", p.choices.told),
          one("eye", "Eye", EYES, true),
          one("optic", "Optic", named(p.optics), true),
          ...(body.late ? LATE : []),
          text("note", "Note", 1000),
        ]
      : [text("note", "Note", 1000)],
  "case.handed_over": () => [{ key: "to", label: "To", kind: "text", most: 60, needed: true }, NOTE],
  "case.closed": () => [one("outcome", "How it ended", words(OUTCOME_WORD)), NOTE],
};

const LATE: Part[] = [
  text("when", "When it was", 200),
  { key: "after_dye_h", label: "Hours after the dye", kind: "number", rule: LATE_HOURS, mayBeEmpty: true },
];

/** Yes, no and not known stand for true, false and null: the record must be able to say that nobody knows. */
const REACHED: Listed = [
  { id: "true", text: "Yes" },
  { id: "false", text: "No: a near miss" },
  { id: "null", text: "Not known yet" },
];

function named(list: readonly { id: string; name: string }[]): Listed {
  return list.map(({ id, name }) => ({ id, text: name }));
}

/** The parts of this line that can be corrected; empty where it can only be said not to have happened. */
export function partsOf(type: string, pack: Pack | null, body: Record<string, unknown>): Part[] {
  return PARTS[type as keyof BodyOf]?.(pack, body) ?? [];
}

/** What the body's value looks like in a field, and back again. */
export function shownValue(part: Part, value: unknown): string | string[] | boolean {
  if (part.kind === "many") return Array.isArray(value) ? value.map(String) : [];
  if (part.kind === "yesno") return value === true;
  if (part.key === "reached_patient") return String(value ?? null);
  return value === null || value === undefined ? "" : String(value);
}

export function bodyValue(part: Part, shown: string | string[] | boolean): unknown {
  if (typeof shown !== "string") return shown;
  if (part.key === "reached_patient") return shown === "true" ? true : shown === "false" ? false : null;
  if (part.kind === "number") return shown.trim() === "" ? null : Number(shown.replace(",", "."));
  if (part.kind === "one") return shown === "" ? (EMPTY_ONE[part.key] ?? null) : shown;
  return shown.trim();
}

/** Fields whose empty answer is no text rather than nothing. */
const EMPTY_ONE: Record<string, unknown> = { reason: "" };

/** Why the corrected parts cannot stand, as sentences by key. */
export function faultsOf(
  parts: readonly Part[],
  shown: Record<string, string | string[] | boolean>,
  readNumber: (text: string, rule: NumberRule) => { fault: string | null },
): Record<string, string> {
  const faults: Record<string, string> = {};
  for (const part of parts) {
    const value = shown[part.key];
    if (part.kind === "number" && typeof value === "string") {
      const fault = value.trim() === "" && part.mayBeEmpty ? null : readNumber(value, part.rule).fault;
      if (fault) faults[part.key] = fault;
    }
    if (part.kind === "text" && part.needed && (typeof value !== "string" || value.trim() === "")) {
      faults[part.key] = "This cannot be empty.";
    }
    if (part.kind === "many" && part.needed && (!Array.isArray(value) || value.length === 0)) {
      faults[part.key] = "Pick at least one.";
    }
    if (part.kind === "one" && !part.mayBeEmpty && value === "") faults[part.key] = "Pick one.";
  }
  return faults;
}
