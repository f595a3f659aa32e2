/** What a safety event's record holds while it is made, and what is still unsaid. Pure. */
import type { BodyOf, Harm } from "../../types.gen";

export interface SafetyDraft {
  what: string | null;
  reached: "yes" | "no" | "unknown" | null;
  harm: Harm | "unknown" | null;
  signs: string[];
  done: string[];
  told: string[];
  note: string;
}

export const EMPTY: SafetyDraft = {
  what: null,
  reached: null,
  harm: null,
  signs: [],
  done: [],
  told: [],
  note: "",
};

export const QUESTIONS = ["what", "reached", "harm", "signs", "done", "told", "note"] as const;
export type Question = (typeof QUESTIONS)[number];

/** The questions that this record still has use for: a near miss has neither harm nor signs. */
export function questionsFor(d: SafetyDraft): Question[] {
  return QUESTIONS.filter((q) => d.reached !== "no" || (q !== "harm" && q !== "signs"));
}

export function after(d: SafetyDraft, question: Question): Question | null {
  const list = questionsFor(d);
  return list[list.indexOf(question) + 1] ?? null;
}

/** What has not been said, in words; the record can be made all the same and amended later. */
export function unsaid(d: SafetyDraft): string[] {
  const lacks: string[] = [];
  if (d.reached === null) lacks.push("whether it reached the patient");
  if (d.reached !== "no" && d.harm === null) lacks.push("the harm");
  if (d.reached !== "no" && d.signs.length === 0) lacks.push("signs");
  if (d.done.length === 0) lacks.push("what was done");
  if (d.told.length === 0) lacks.push("who was told");
  return lacks;
}

type Body = Omit<BodyOf["safety.noted"], "salt">;

/** What is logged. What is not known is null, never a guess; a near miss carries no harm. */
export function toBody(d: SafetyDraft, where: Pick<Body, "step" | "optic" | "eye">): Body | null {
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
    ...where,
  };
}

/** The draft that a logged event came from, for correcting it. */
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
  };
}
