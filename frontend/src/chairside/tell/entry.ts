/** One line of a case, told in words. Pure. */
import type { CaseState, Entry, Eye, Modality } from "../../log";
import type { BodyOf, Choice, Pack } from "../../types.gen";
import { doseStanding, injectionOf } from "../screening/course";
import { EYE_WORD, eyesWord, MODALITY_WORD } from "../words";
import { DYE_TELL } from "./dye";
import { PLAN_TELL } from "./plans";
import { REACTION_TELL, signText } from "./reactions";
import { clockText, SERIES_TELL } from "./series";
import { FRAME_WORD, METHOD_WORD, NO_TURN, OUTCOME_WORD, POSE_WORD, TYPE_WORD } from "./types";

export interface Told {
  title: string;
  detail: string;
}

type Teller<T extends keyof BodyOf> = (body: BodyOf[T], pack: Pack | null, state: CaseState) => Partial<Told>;

const named = (list: readonly Choice[] | undefined, id: string | null | undefined): string =>
  id ? (list?.find((c) => c.id === id)?.text ?? id) : "";
const several = (list: readonly Choice[] | undefined, ids: readonly string[] | undefined): string =>
  (ids ?? []).map((id) => named(list, id)).join(", ");
const eye = (side: string | null | undefined): string => (side ? (EYE_WORD[side as Eye] ?? side) : "");
const optic = (pack: Pack | null, id: string | null | undefined): string =>
  id ? (pack?.optics.find((o) => o.id === id)?.name ?? id) : "";
const step = (pack: Pack | null, id: string): string => pack?.steps.find((s) => s.id === id)?.text ?? id;
const together = (...parts: (string | null | undefined)[]): string => parts.filter(Boolean).join(" · ");
const degrees = (n: number | null | undefined): string =>
  n === null || n === undefined ? "" : `${Math.round(n)}°`;

const TELL: { [T in keyof BodyOf]?: Teller<T> } = {
  ...DYE_TELL,
  "case.opened": (b, p) => ({
    detail: together(
      b.code,
      eyesWord(b.eyes),
      b.study_eye && b.eyes.length > 1 ? `study eye: ${eye(b.study_eye).toLowerCase()}` : "",
      b.modalities.map((m) => MODALITY_WORD[m as Modality] ?? m).join(", "),
      b.cross_sections ? "cross-sections" : "",
      several(p?.choices.flags, b.flags),
      b.note,
    ),
  }),
  "case.flagged": (b, p) => ({ detail: several(p?.choices.flags, b.flags) || "Nothing special" }),
  "case.taken": (b) => ({ detail: `${b.seen} lines were known` }),
  "case.handed_over": (b) => ({ detail: together(b.to, b.note) }),
  "case.closed": (b) => ({ detail: together(OUTCOME_WORD[b.outcome], b.note) }),
  "optic.chosen": (b, p) => ({
    detail: together(
      optic(p, b.optic),
      b.suggested && b.suggested !== b.optic ? `suggested: ${optic(p, b.suggested)}` : "",
      b.reason,
    ),
  }),
  "step.done": (b, p) => ({ detail: together(step(p, b.step), eye(b.eye), optic(p, b.optic), b.value) }),
  "step.skipped": (b, p) => ({
    detail: together(
      step(p, b.step),
      eye(b.eye),
      optic(p, b.optic),
      named(p?.choices.skip_reasons, b.reason),
      b.note,
    ),
  }),
  "face.measured": (b, p) => ({
    detail: together(
      eye(b.eye),
      `${b.pd_mm} mm between the pupils`,
      typeof b.exophthalmometry === "number"
        ? `${b.exophthalmometry} mm at the outer rim`
        : b.exophthalmometry,
      `nose ${b.nose}`,
      `brow ${b.brow}`,
      `neck ${b.neck}`,
      named(p?.choices.age_bands, b.age_band),
      b.unusual ? `no computed turn: ${named(p?.choices.unusual, b.unusual)}` : "",
    ),
  }),
  "pupil.measured": (b) => ({
    detail: together(eye(b.eye), `${b.pupil_mm} mm`, b.dilated ? "dilated" : "not dilated"),
  }),
  "fixation.chosen": (b) => ({
    detail: together(
      eye(b.eye),
      METHOD_WORD[b.method],
      b.imaged_sees ? "" : "imaged eye does not see it",
      b.fellow_sees ? "" : "fellow eye does not see it",
      b.squint ? "squint" : "",
      b.drifts ? "drifts" : "",
    ),
  }),
  "pose.advised": (b, p) => ({
    detail: together(
      eye(b.eye),
      optic(p, b.optic),
      b.yaw_deg === null
        ? (NO_TURN[b.reason ?? ""] ?? "none computed")
        : `turn ${degrees(b.yaw_deg)}, chin ${degrees(b.pitch_deg)}`,
      b.clearance_mm === null || b.clearance_mm === undefined ? "" : `gap ${b.clearance_mm.toFixed(1)} mm`,
      named(p?.choices.nearest, b.nearest),
    ),
  }),
  "pose.found": (b, p) => ({
    detail: together(
      eye(b.eye),
      optic(p, b.optic),
      POSE_WORD[b.outcome],
      b.by_deg ? `by ${degrees(b.by_deg)}` : "",
      b.nearest ? `nearest: ${named(p?.choices.nearest, b.nearest)}` : "",
      b.touched ? "touched" : "",
    ),
  }),
  "frame.taken": (b, p) => ({
    detail: together(
      p?.fields.find((f) => f.id === b.field)?.name ?? b.field,
      FRAME_WORD[b.outcome],
      eye(b.eye),
      MODALITY_WORD[b.modality as Modality],
      named(p?.choices.frame_again, b.reason),
      b.dye_s === null || b.dye_s === undefined ? "" : `at ${clockText(b.dye_s)} after the dye`,
    ),
  }),
  ...SERIES_TELL,
  ...PLAN_TELL,
  ...REACTION_TELL,
  "lines.confirmed": (b) => ({
    detail: `${b.by} wrote ${b.lines.length === 1 ? "a line" : `${b.lines.length} lines`}`,
  }),
  "comfort.noted": (b, p) => ({
    title: `Comfort ${b.score} of 10`,
    detail: together(several(p?.choices.bothers, b.bothers), b.note),
  }),
  "pause.noted": (b) => ({
    title: b.state === "started" ? "Pause began" : "Pause ended",
    detail: b.why ?? "",
  }),
  "safety.noted": (b, p) => ({
    title: `${b.reached_patient === false ? "Near miss" : "Safety event"}${b.late ? ", after the case" : ""}`,
    detail: together(
      named(p?.choices.safety_what, b.what),
      b.reached_patient === null ? "not known whether it reached the patient" : "",
      b.harm ? `harm: ${named(p?.choices.harm, b.harm)}` : "",
      b.signs.map((id) => signText(p, id)).join(", "),
      b.done.length ? `done: ${several(p?.choices.safety_done, b.done)}` : "",
      b.told.length ? `told: ${several(p?.choices.told, b.told)}` : "",
      typeof b.dye_s === "number" && !b.late ? `${clockText(b.dye_s)} after the dye` : "",
      b.when ? `when: ${b.when}` : "",
      typeof b.after_dye_h === "number" ? `about ${b.after_dye_h} h after the dye` : "",
      b.note,
    ),
  }),
  "line.amended": (b, _p, state) => {
    const target = state.entries.find((e) => e.line === b.line);
    const what = target ? (TYPE_WORD[target.type] ?? target.type) : "an earlier line";
    return {
      title: b.body === null ? `“${what}” did not happen` : `“${what}” corrected`,
      detail: `Why: ${b.why}`,
    };
  },
};

const LACK_WORD = {
  release: "Releases nothing: it does not say who, as what, and why",
  go_ahead: "Counts for nothing: it does not say who, and as what",
  eased: "Counts for nothing: the answer before it held the dye back, and no reason is given",
  skip: "Passes nothing: no reason is given",
  reason: "No reason is given",
} as const;

export const KEPT_BACK = "Kept back until a second person has given their own figure.";

/** Whether a line holds a figure that the second person may not see before theirs stands: a dose of this dye, or what an
 * earlier check came to. */
function isKeptBack(entry: Entry, state: CaseState): boolean {
  if (entry.type !== "dose.worked" && entry.type !== "dose.checked") return false;
  const dye = entry.body?.dye;
  if (typeof dye !== "string" || state.state !== "open" || entry.body?.what === "order") return false;
  return doseStanding(state, dye).state === "unchecked" && injectionOf(state, dye) === null;
}

export function tellEntry(entry: Entry, pack: Pack | null, state: CaseState): Told {
  const title = TYPE_WORD[entry.type] ?? entry.type;
  if (!entry.known)
    return { title, detail: "Of a newer app. Kept and sent as it is; update the app to read it." };
  if (entry.withdrawn) return { title, detail: "Did not happen." };
  if (entry.body === null) return { title, detail: "Cannot be read here. Kept and sent as it is." };
  if (isKeptBack(entry, state)) return { title, detail: KEPT_BACK };
  const teller = TELL[entry.type as keyof BodyOf] as Teller<"case.opened"> | undefined;
  const lacks = entry.lacks ? LACK_WORD[entry.lacks] : "";
  try {
    const told = {
      title,
      detail: "",
      ...teller?.(entry.body as unknown as BodyOf["case.opened"], pack, state),
    };
    return { ...told, detail: together(lacks, told.detail) };
  } catch {
    return { title, detail: "Not in the form this app expects. Kept and sent as it is." };
  }
}
