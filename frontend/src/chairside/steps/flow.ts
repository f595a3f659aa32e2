/** Where a case stands in its planned steps. Pure: the plan comes from the pack, the marks from the log. */
import type { Stage, Weight } from "../../types.gen";

export interface PlannedLike {
  key: string;
  optic: string | null;
  step: { id: string; stage: string; weight: Weight; text: string };
}
export type Marks = ReadonlyMap<string, { state: "done" | "skipped" }>;

export interface StageProgress {
  id: string;
  name: string;
  passed: number;
  total: number;
  mustLeft: number;
}

/** Nobody goes past these without doing them or saying why not; past a stop, not by a reason either. */
export function binds(weight: Weight): boolean {
  return weight === "must" || weight === "stop";
}

/** A round of an optic that is not the one in use: nothing to do now, unless it is all that is left. */
function elsewhere(p: PlannedLike, inUse: string | null): boolean {
  return p.optic !== null && p.optic !== inUse;
}

/** The first of these steps, those of the optic in use before those of another. */
function firstOf<P extends PlannedLike>(steps: readonly P[], inUse: string | null): P | null {
  return steps.find((p) => !elsewhere(p, inUse)) ?? steps[0] ?? null;
}

/** The first step in order that is neither done nor passed with a reason; null when all are. */
export function firstOpen<P extends PlannedLike>(
  plan: readonly P[],
  marks: Marks,
  inUse: string | null,
): P | null {
  return firstOf(
    plan.filter((p) => !marks.has(p.key)),
    inUse,
  );
}

/** The step shown: the one asked for while it stands in the plan, else the first open one. */
export function shown<P extends PlannedLike>(
  plan: readonly P[],
  marks: Marks,
  asked: string | null,
  inUse: string | null,
): P | null {
  return plan.find((p) => p.key === asked) ?? firstOpen(plan, marks, inUse);
}

/** What comes next: the first open step after this one, else the first open one before it. */
export function nextOpen<P extends PlannedLike>(
  plan: readonly P[],
  marks: Marks,
  key: string,
  inUse: string | null,
): P | null {
  const at = plan.findIndex((p) => p.key === key);
  const order = [...plan.slice(at + 1), ...plan.slice(0, Math.max(at, 0))];
  return firstOf(
    order.filter((p) => p.key !== key && !marks.has(p.key)),
    inUse,
  );
}

/** The first open step of one optic: where its change begins. */
export function firstOfOptic<P extends PlannedLike>(
  plan: readonly P[],
  marks: Marks,
  optic: string,
): P | null {
  return plan.find((p) => p.optic === optic && !marks.has(p.key)) ?? null;
}

/** The step before this one in order, open or not: for going back to look. */
export function stepBefore<P extends PlannedLike>(plan: readonly P[], key: string): P | null {
  const at = plan.findIndex((p) => p.key === key);
  return at > 0 ? (plan[at - 1] ?? null) : null;
}

/**
 * Every *must* and *stop* before a later step that is neither done nor passed. Going past one needs either; a
 * *should* or a note may simply be left. What an optic needed that has been taken off stands in nobody's way.
 */
export function mustsBefore<P extends PlannedLike>(
  plan: readonly P[],
  marks: Marks,
  key: string,
  inUse: string | null,
): P[] {
  const at = plan.findIndex((p) => p.key === key);
  const optic = plan[at]?.optic ?? null;
  return plan
    .slice(0, at < 0 ? plan.length : at)
    .filter((p) => binds(p.step.weight) && !marks.has(p.key))
    .filter((p) => !elsewhere(p, inUse) || p.optic === optic);
}

/** Progress by stage, in the pack's order, leaving out stages that hold nothing for this case. */
export function progress(
  plan: readonly PlannedLike[],
  marks: Marks,
  stages: readonly Stage[],
): StageProgress[] {
  return stages
    .map(({ id, name }) => {
      const here = plan.filter((p) => p.step.stage === id);
      return {
        id,
        name,
        total: here.length,
        passed: here.filter((p) => marks.has(p.key)).length,
        mustLeft: here.filter((p) => binds(p.step.weight) && !marks.has(p.key)).length,
      };
    })
    .filter((s) => s.total > 0);
}
