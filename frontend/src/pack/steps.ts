/** The steps of a case, in the order in which they are done. Pure. */
import type { Field, Pack, Step } from "../types.gen";
import type { Eye, PlannedStep, Situation } from "./types";
import { holds, type RoundOf } from "./when";

const perOptic = (step: Step): boolean => step.each === "optic" || step.each === "eye_and_optic";

/** Neighbouring steps that share how they are repeated. */
function runs(steps: readonly Step[], like: (step: Step) => string): Step[][] {
  const out: Step[][] = [];
  let last: string | null = null;
  for (const step of steps) {
    const kind = like(step);
    if (kind === last) out[out.length - 1]?.push(step);
    else out.push([step]);
    last = kind;
  }
  return out;
}

function rounds(
  steps: readonly Step[],
  eyes: readonly (Eye | null)[],
  optic: string | null,
): [Step, RoundOf][] {
  return eyes.flatMap((eye) => steps.map((step): [Step, RoundOf] => [step, { eye, optic }]));
}

/** Steps repeated for each optic go through one optic as a whole before the next; within it, those repeated for each
 * eye go through one eye before the other. So the list reads as the visit goes: this optic on, right eye, left eye;
 * then the next optic. Before an optic is chosen, its rounds are not there yet. */
export function stepsFor(pack: Pack, situation: Situation): PlannedStep[] {
  const { eyes } = situation;
  // each once, in the order in which it was last put on
  const optics = [...new Set([...situation.optics].reverse())].reverse();
  const planned: [Step, RoundOf][] = [];
  for (const run of runs(pack.steps, (step) => (perOptic(step) ? "optic" : step.each))) {
    if (run.every(perOptic)) {
      for (const optic of optics) {
        for (const inner of runs(run, (step) => step.each)) {
          planned.push(...rounds(inner, inner[0]?.each === "eye_and_optic" ? eyes : [null], optic));
        }
      }
    } else {
      planned.push(...rounds(run, run[0]?.each === "eye" ? eyes : [null], null));
    }
  }
  return planned
    .filter(([step, round]) =>
      step.weight === "stop"
        ? holds(step.when, pack, situation, round) || holds(step.when, pack, latched(situation), round)
        : holds(step.when, pack, situation, round),
    )
    .map(([step, { eye, optic }]) => ({ key: keyOf(step.id, eye, optic), step, eye, optic }));
}

/** As if no flag had ever been taken off. */
function latched(situation: Situation): Situation {
  return { ...situation, flags: situation.everFlags };
}

/** The same text as the log's key of what was done for a round. */
export function keyOf(step: string, eye: Eye | null, optic: string | null): string {
  return `${step}|${eye ?? ""}|${optic ?? ""}`;
}

/** The frames that a step checks off in a round: those it names, in its order, whose own condition holds. */
export function fieldsFor(
  pack: Pack,
  situation: Situation,
  step: Pick<Step, "fields">,
  round: RoundOf,
): Field[] {
  return step.fields
    .map((id) => pack.fields.find((field) => field.id === id))
    .filter((field): field is Field => field !== undefined && holds(field.when, pack, situation, round));
}
