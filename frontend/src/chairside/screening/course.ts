/**
 * What stands between a case and its dye: answers that stop or ask, what has been released, and what is still open.
 * Pure. It only ever closes the way: nothing here says that a dye is safe. Guidance from before there were dyes in it
 * has neither dyes nor questions.
 */
import { type CaseState, cameAfter, type Noted } from "../../log";
import { type PlannedStep, stepsFor } from "../../pack";
import type { Dye, Pack, ScreeningAnswer, ScreeningAnswered, ScreeningQuestion } from "../../types.gen";
import { situationOf } from "../guide";
import { samePerson } from "./people";

export type Part = ScreeningQuestion["part"];

/** The dyes that this visit asks for, in the pack's order. */
export function askedDyes(pack: Pack, state: Pick<CaseState, "modalities">): Dye[] {
  return (pack.dyes ?? []).filter((d) => state.modalities.includes(d.modality));
}

/** The questions that these dyes need, in the pack's order. */
export function questionsOf(
  pack: Pack,
  state: Pick<CaseState, "modalities">,
  part: Part,
): ScreeningQuestion[] {
  const dyes = askedDyes(pack, state).map((d) => d.id);
  if (dyes.length === 0) return [];
  return (pack.screening ?? []).filter(
    (q) => q.part === part && (q.dyes.length === 0 || q.dyes.some((d) => dyes.includes(d))),
  );
}

export interface Given {
  answer: ScreeningAnswer;
  noted: Noted<ScreeningAnswered>;
}

/** The answer that stands. One that this pack does not know is no answer: it is asked anew. */
export function answerTo(state: CaseState, question: ScreeningQuestion): Given | null {
  const noted = state.dye.screening.get(question.id);
  const answer = question.answers.find((a) => a.id === noted?.body.answer);
  return noted && answer ? { answer, noted } : null;
}

const WEIGHT: Record<Consequence, number> = { go: 0, note: 1, ask: 2, stop: 3 };
type Consequence = ScreeningAnswer["consequence"];

/** Whether an answer that held the dye back would be replaced by one that holds it back less: that needs its reason. */
export function softens(from: Consequence, to: Consequence): boolean {
  return WEIGHT[from] >= WEIGHT.ask && WEIGHT[to] < WEIGHT[from];
}

export function unanswered(pack: Pack, state: CaseState, part: Part): ScreeningQuestion[] {
  return questionsOf(pack, state, part).filter((q) => answerTo(state, q) === null);
}

/** Whether a licensed person has released this very answer: an earlier release of the same words is another's. */
const released = (state: CaseState, question: string, answer: string): boolean => {
  const given = state.dye.screening.get(question);
  return state.dye.released.some(
    (one) => one.body.question === question && one.body.answer === answer && cameAfter(state, one, given),
  );
};

/** What the physician last said of this answer; null when nobody has asked them. */
export function physicianSaid(state: CaseState, question: string, answer: string): boolean | null {
  const said = state.dye.asked
    .filter(({ body }) => body.question === question && body.answer === answer)
    .at(-1);
  if (said === undefined) return null;
  // a go-ahead is for the answer that they were asked about, not for one that is given anew later
  if (said.body.goes_on && !cameAfter(state, said, state.dye.screening.get(question))) return null;
  return said.body.goes_on;
}

/** The answers, as they stand, that this holds of; each with its question. */
function standing(
  pack: Pack,
  state: CaseState,
  holds: (answer: ScreeningAnswer, question: ScreeningQuestion) => boolean,
): (Given & { question: ScreeningQuestion })[] {
  return (pack.screening ?? []).flatMap((question) => {
    const given = answerTo(state, question);
    return given !== null && holds(given.answer, question) ? [{ question, ...given }] : [];
  });
}

/** The answers by which the clinic's dose rules are not for this patient: no dose of this dye is worked here. */
export function notComputed(pack: Pack, state: CaseState, dye: string) {
  return standing(
    pack,
    state,
    (a, q) => a.dose_not_computed === true && (q.dyes.length === 0 || q.dyes.includes(dye)),
  );
}

/** Whether flashing light may harm this patient, as answered; a release of the stop does not change that. */
export function harmedByFlashes(pack: Pack, state: CaseState): boolean {
  return standing(pack, state, (a) => a.steady_light === true).length > 0;
}

export type Arm = "right" | "left";
/** The question that says which arm the needle is in; a pack that spares an arm must have it. */
export const ARM_QUESTION = "arm";

/** Arms that an answer rules out, but for one whose stop a licensed person has released. */
export function sparedArms(pack: Pack, state: CaseState): Arm[] {
  const spared = new Set<Arm>();
  for (const { answer } of sparing(pack, state)) {
    if (answer.spare_arm === "both") spared.add("right").add("left");
    else if (answer.spare_arm !== "") spared.add(answer.spare_arm);
  }
  return [...spared];
}

function sparing(pack: Pack, state: CaseState) {
  return standing(
    pack,
    state,
    (a, q) => a.spare_arm !== "" && !(a.consequence === "stop" && released(state, q.id, a.id)),
  );
}

/** What was answered that rules out an arm, in the pack's own words. */
export function sparedWords(pack: Pack, state: CaseState): string[] {
  return sparing(pack, state).map(({ question, answer }) => `${question.text} ${answer.text}.`);
}

/** The arm that the needle is in, as answered. */
export function needleArm(state: CaseState): Arm | null {
  const said = state.dye.screening.get(ARM_QUESTION)?.body.answer;
  return said === "right" || said === "left" ? said : null;
}

/**
 * `stop`: only a licensed person's release passes it. `ask`: the physician has not been asked. `refused`: they said
 * stop. `arm`: the needle is in an arm that must not be used; no release passes that, only the other arm.
 */
export interface Open {
  kind: "stop" | "ask" | "refused" | "arm";
  question: ScreeningQuestion;
  answer: ScreeningAnswer;
}

/** Everything that is not settled, stops before questions to the physician. */
export function openOnes(pack: Pack, state: CaseState): Open[] {
  const found: Open[] = [];
  const arm = needleArm(state);
  const spared = sparedArms(pack, state);
  for (const part of ["patient", "ready"] as const) {
    for (const question of questionsOf(pack, state, part)) {
      const answer = answerTo(state, question)?.answer;
      if (!answer) continue;
      const kind = kindOf(state, question, answer);
      if (kind !== null) found.push({ kind, question, answer });
      if (question.id === ARM_QUESTION && arm !== null && spared.includes(arm))
        found.push({ kind: "arm", question, answer });
    }
  }
  return [...found.filter((o) => o.kind !== "ask"), ...found.filter((o) => o.kind === "ask")];
}

function kindOf(
  state: CaseState,
  question: ScreeningQuestion,
  answer: ScreeningAnswer,
): "stop" | "ask" | "refused" | null {
  if (answer.consequence === "go" || answer.consequence === "note") return null;
  if (released(state, question.id, answer.id)) return null;
  if (answer.consequence === "stop") return "stop";
  const said = physicianSaid(state, question.id, answer.id);
  return said === null ? "ask" : said ? null : "refused";
}

/** Steps of weight stop that are neither done nor released. A reason alone passes none. */
export function openStopSteps(pack: Pack, state: CaseState): PlannedStep[] {
  return stepsFor(pack, situationOf(state)).filter((p) => {
    if (p.step.weight !== "stop") return false;
    const mark = state.steps.get(p.key);
    if (mark?.state === "done") return false;
    return !state.dye.released.some(
      ({ body }) =>
        body.step === p.step.id && (body.eye ?? null) === p.eye && (body.optic ?? null) === p.optic,
    );
  });
}

export interface Closed {
  /** Why, as one sentence. */
  text: string;
  /** Where it can be settled: a step's key, or a screen of the case. */
  step: string | null;
  screen: "screening" | "ready" | "dose" | null;
}

/** Why no dose may be worked for this case; empty when nothing stands in the way. */
export function closedForDose(pack: Pack, state: CaseState): Closed[] {
  const found: Closed[] = openStopSteps(pack, state).map((p) => ({
    text: `A stop is open: ${p.step.text}`,
    step: p.key,
    screen: null,
  }));
  const left = unanswered(pack, state, "patient").length;
  if (left > 0) {
    const text =
      left === 1
        ? "One screening question is not answered."
        : `${left} screening questions are not answered.`;
    found.push({ text, step: null, screen: "screening" });
  }
  for (const one of openOnes(pack, state))
    found.push({
      text: openWords(one),
      step: null,
      screen: one.question.part === "ready" ? "ready" : "screening",
    });
  return found;
}

/** Why nothing may be injected of this dye; empty when nothing stands in the way. */
export function closedForInjection(pack: Pack, state: CaseState, dye: string): Closed[] {
  const found = closedForDose(pack, state);
  if (state.reactions.some((r) => r.ended === null))
    found.push({ text: "An emergency is open in this case.", step: null, screen: null });
  const left = unanswered(pack, state, "ready").length;
  if (left > 0) found.push({ text: "Not everything is made sure of yet.", step: null, screen: "ready" });
  const ordered = notComputed(pack, state, dye).length > 0;
  const word = ordered
    ? ORDER_WORD[orderStanding(pack, state, dye).state]
    : DOSE_WORD[doseStanding(state, dye).state];
  if (word !== null) found.push({ text: word, step: null, screen: "dose" });
  return found;
}

const DOSE_WORD = {
  none: "The dose of this dye is not worked yet.",
  unchecked: "No second person has checked the dose.",
  differs: "The second check differs. The dose is worked anew before anything is injected.",
  agreed: null,
} as const;

const ORDER_WORD = {
  unchecked: "No second person has checked the physician's own order.",
  differs: "The second check of the physician's order differs. It is settled before anything is injected.",
  agreed: null,
} as const;

export function openWords({ kind, question, answer }: Open): string {
  const said = `${question.text} ${answer.text}.`;
  if (kind === "arm") return "The needle is in an arm that must not be used.";
  if (kind === "ask") return `The physician is to be asked: ${said}`;
  if (kind === "refused") return `The physician says stop: ${said}`;
  return `A stop: ${said}`;
}

export interface DoseStanding {
  state: "none" | "unchecked" | "differs" | "agreed";
  dose: CaseState["dye"]["doses"][number] | null;
  check: CaseState["dye"]["checks"][number] | null;
}

/** The last dose of this dye, and the last check that came after it. A dose that was amended since, or a check that was
 * taken back since, leaves it unchecked: what was compared is no longer what stands. */
export function doseStanding(state: CaseState, dye: string): DoseStanding {
  const dose = state.dye.doses.filter((d) => d.body.dye === dye).at(-1) ?? null;
  if (dose === null) return { state: "none", dose, check: null };
  const amended = state.entries.find((e) => e.line === dose.line)?.amendedBy ?? null;
  const from = amended === null ? dose : { line: amended };
  const check =
    state.dye.checks
      .filter((c) => c.body.dye === dye && c.body.what !== "order" && cameAfter(state, c, from))
      .at(-1) ?? null;
  const takenBack = state.entries.some(
    (e) =>
      e.type === "dose.checked" &&
      e.withdrawn &&
      e.written?.dye === dye &&
      e.written?.what !== "order" &&
      (check === null || cameAfter(state, e, check)),
  );
  if (check === null || takenBack) return { state: "unchecked", dose, check: null };
  if (!check.body.agrees) return { state: "differs", dose, check };
  // another phone may have worked it anew in between: agreeing is with what was compared, by somebody else
  const { dose_line, volume_ml, by, worked_by } = check.body;
  const actor = state.entries.find((e) => e.line === dose.line)?.actor ?? null;
  const bound = dose_line === dose.line && volume_ml === dose.body.volume_ml;
  const workers = [worked_by ?? "", actor ?? ""].filter((who) => who !== "");
  const other = workers.length > 0 && !workers.some((who) => samePerson(who, by));
  if (!bound || !other) return { state: "unchecked", dose, check: null };
  return { state: "agreed", dose, check };
}

/** The last check of the physician's own order, that came after the answers by which no dose is worked. */
export function orderStanding(
  pack: Pack,
  state: CaseState,
  dye: string,
): { state: "unchecked" | "differs" | "agreed"; check: CaseState["dye"]["checks"][number] | null } {
  const place = (line: string): number => state.entries.findIndex((e) => e.line === line);
  const after = Math.max(-1, ...notComputed(pack, state, dye).map((g) => place(g.noted.line)));
  const check =
    state.dye.checks
      .filter((c) => c.body.dye === dye && c.body.what === "order" && place(c.line) > after)
      .at(-1) ?? null;
  return { state: check === null ? "unchecked" : check.body.agrees ? "agreed" : "differs", check };
}

/** Whether leak and flush have been answered after the injection of a dye; a leak may end it without a flush. */
export function askedAfter(state: CaseState, dye: string): boolean {
  const leak = state.dye.leaks.find((l) => l.body.dye === dye && l.body.moment !== "at_the_end");
  return leak !== undefined && (leak.body.leak || state.dye.flushed.some((f) => f.body.dye === dye));
}

/** The injection of a dye: the first that stands is the zero of its clock. */
export function injectionOf(state: CaseState, dye: string): CaseState["dye"]["injected"][number] | null {
  return state.dye.injected.find((i) => i.body.dye === dye) ?? null;
}
