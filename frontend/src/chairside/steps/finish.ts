/** Marking a planned step done, and going on to what comes next. */
import type { CaseState } from "../../log";
import { type Held, type PlannedStep, stepsFor } from "../../pack";
import type { Screen } from "../../types.gen";
import { app } from "../app";
import { type Round, situationOf } from "../guide";
import { record } from "../record";
import { goCase } from "../router";
import { firstOfOptic, nextOpen } from "./flow";

/** Logs a step as done. True once it is on the disk. */
export async function markDone(state: CaseState, planned: PlannedStep, value?: string): Promise<boolean> {
  const body = { step: planned.step.id, eye: planned.eye, optic: planned.optic, value: value ?? null };
  return (await record("step.done", body, { case: state.id })) !== null;
}

/** Goes to the next open step as the case stands now: what was just saved may have changed the plan. */
export function goOn(state: CaseState, held: Held, from: string): void {
  const now = app.log.caseOf(state.id) ?? state;
  const next = nextOpen(stepsFor(held.pack, situationOf(now)), now.steps, from, now.optic);
  goCase(state.id, "step", ...(next === null ? [] : [next.key]));
}

/**
 * After a panel that was opened by itself, outside its step: the step that it answers is marked too, so that nobody
 * is asked twice. Then back to the steps.
 */
export async function finishRound(
  state: CaseState,
  held: Held,
  screen: Screen,
  round: Round,
  value?: string,
): Promise<void> {
  const now = app.log.caseOf(state.id) ?? state;
  const plan = stepsFor(held.pack, situationOf(now));
  const mine = plan.find(
    (p) =>
      p.step.screen === screen &&
      !now.steps.has(p.key) &&
      (p.eye === null || p.eye === round.eye) &&
      (p.optic === null || p.optic === (round.optic ?? now.optic)),
  );
  if (mine !== undefined && !(await markDone(state, mine, value))) return;
  const change = screen === "optic" && now.optic !== null ? firstOfOptic(plan, now.steps, now.optic) : null;
  if (change !== null) goCase(state.id, "step", change.key);
  else if (mine === undefined) goCase(state.id, "step");
  else goOn(state, held, mine.key);
}
