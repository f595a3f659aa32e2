/** What a safety event's record holds while it is made, and what is still unsaid. Pure. */
import type { BodyOf, Harm } from "../../types.gen";
import { type NumberRule, readNumber } from "../../ui";

export interface SafetyDraft {
  what: string | null;
  reached: "yes" | "no" | "unknown" | null;
  harm: Harm | "unknown" | null;
  signs: string[];
  done: string[];
  told: string[];
  note: string;
  /** Of a late event: when it was, in the patient's words. */
  when: string;
  /** Hours after the dye, as typed; empty where nobody knows. */
  hours: string;
  /** Whoever wrote it says that no more is known. */
  finished: boolean;
}

export const EMPTY: SafetyDraft = {
  what: null,
  reached: null,
  harm: null,
  signs: [],
  done: [],
  told: [],
  note: "",
  when: "",
  hours: "",
  finished: false,
};

/** The questions that must be answered while both hands are nearly busy; all else can come later. */
export type Question = "what" | "reached" | "harm";

/** The next question that has no answer yet, or null when the event can be recorded: a near miss has no harm to ask
 * for. A question is left only by its own answer, so that none is passed unseen. */
export function nextQuestion(d: SafetyDraft): Question | null {
  if (d.what === null) return "what";
  if (d.reached === null) return "reached";
  return d.reached !== "no" && d.harm === null ? "harm" : null;
}

/** A draft after a crash may be older than the log: browsers keep it some seconds later. What the log has heard stands,
 * and is not asked again; a null there may be "not asked yet", so it settles nothing. While it is asked anew what
 * happened, the draft is left as it is. */
export function caughtUp(d: SafetyDraft, body: Partial<Body>): Partial<SafetyDraft> {
  if (d.what === null) return {};
  const heard = fromBody(body);
  return {
    what: heard.what,
    ...(typeof body.reached_patient === "boolean" ? { reached: heard.reached } : {}),
    ...(heard.harm !== null ? { harm: heard.harm } : {}),
    signs: heard.signs,
    done: heard.done,
    told: heard.told,
    note: heard.note,
    when: heard.when,
    hours: heard.hours,
    finished: heard.finished,
  };
}

/** How long after the dye a late event may be told to have been: four weeks. */
export const LATE_HOURS: NumberRule = { unit: "h", least: 0, most: 672, decimals: 1 };

/** What is wrong with the hours as typed, or null. */
export function hoursFault(d: SafetyDraft): string | null {
  return d.hours.trim() === "" ? null : readNumber(d.hours, LATE_HOURS).fault;
}

/** What has not been said, in words: it can be added later, and the list of what is to finish asks for it. */
export function unsaid(d: SafetyDraft, late = false): string[] {
  const lacks: string[] = [];
  if (late && d.when.trim() === "" && d.hours.trim() === "") lacks.push("when it was");
  const known = d.reached === "yes" || d.reached === "no";
  if (!known) lacks.push("whether it reached the patient");
  if (d.reached !== "no" && (d.harm === null || d.harm === "unknown")) lacks.push("the harm");
  if (d.reached !== "no" && d.signs.length === 0) lacks.push("signs");
  if (d.done.length === 0) lacks.push("what was done");
  if (d.told.length === 0) lacks.push("who was told");
  return lacks;
}

type Body = Omit<BodyOf["safety.noted"], "salt">;
/** Where in the visit it was: filled in, never asked. */
export type Placed = Pick<Body, "step" | "optic" | "eye" | "dye_s" | "reaction" | "late">;

export function placeOf({ step, optic, eye, dye_s, reaction, late }: Partial<Body>): Placed {
  return {
    step: step ?? null,
    optic: optic ?? null,
    eye: eye ?? null,
    dye_s: dye_s ?? null,
    reaction: reaction ?? null,
    late: late ?? false,
  };
}

/** What is logged. What is not known is null, never a guess; a near miss carries no harm. */
export function toBody(d: SafetyDraft, where: Placed): Body | null {
  if (d.what === null) return null;
  const near = d.reached === "no";
  return {
    what: d.what,
    reached_patient: d.reached === "yes" ? true : near ? false : null,
    harm: near || d.harm === "unknown" ? null : d.harm,
    signs: near ? [] : d.signs,
    done: d.done,
    told: d.told,
    note: d.note.trim(),
    when: d.when.trim(),
    after_dye_h: d.hours.trim() === "" ? null : readNumber(d.hours, LATE_HOURS).value,
    ...where,
    finished: d.finished,
  };
}

/** The draft that a logged event came from, for telling more of it or correcting it. */
export function fromBody(body: Partial<Body>): SafetyDraft {
  return {
    what: body.what ?? null,
    reached:
      body.reached_patient === true
        ? "yes"
        : body.reached_patient === false
          ? "no"
          : body.what && "reached_patient" in body
            ? "unknown"
            : null,
    harm: body.harm ?? null,
    signs: body.signs ?? [],
    done: body.done ?? [],
    told: body.told ?? [],
    note: body.note ?? "",
    when: body.when ?? "",
    hours: typeof body.after_dye_h === "number" ? String(body.after_dye_h) : "",
    finished: body.finished ?? false,
  };
}
