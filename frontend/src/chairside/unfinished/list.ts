/** What was logged in a hurry and is not told to its end: the list that asks until it is. Pure. */
import { type CaseState, isLoose } from "../../log";
import { fromBody, unsaid } from "../safety/record";

export type Unfinished =
  /** A safety event that lacks something. */
  | { kind: "event"; case: string; line: string; at: number; what: string; lacks: string[] }
  /** A reaction that nobody has ended. */
  | { kind: "unended"; case: string; line: string; at: number }
  /** A reaction is over, and no safety event tells of it. */
  | { kind: "reaction"; case: string; line: string; at: number }
  /** A reaction was opened with no case, and nobody has said whose it was. */
  | { kind: "loose"; case: string; line: string; at: number }
  /** A drug was logged as given, without what or how much. */
  | { kind: "drug"; case: string; line: string; at: number };

/** Ids of the actions that ask for a drug, as the case's pack has them. */
export type DrugActions = ReadonlySet<string>;

export function unfinishedOf(state: CaseState, drugs: DrugActions): Unfinished[] {
  const found: Unfinished[] = [];
  const told = new Set(state.safety.map((s) => s.body.reaction ?? ""));
  for (const { line, at, body } of state.safety) {
    const lacks = body.finished ? [] : unsaid(fromBody(body), body.late);
    if (lacks.length > 0) found.push({ kind: "event", case: state.id, line, at, what: body.what, lacks });
  }
  for (const reaction of state.reactions) {
    const { line, at } = reaction;
    if (!reaction.ended) found.push({ kind: "unended", case: state.id, line, at });
    if (reaction.ended && !told.has(line)) found.push({ kind: "reaction", case: state.id, line, at });
    for (const act of reaction.actions) {
      const { action, drug, dose } = act.body;
      if (reaction.ended && drugs.has(action) && !(drug && dose))
        found.push({ kind: "drug", case: state.id, line: act.line, at: act.at });
    }
  }
  const first = state.reactions[0];
  if (first && isLoose(state)) found.push({ kind: "loose", case: state.id, line: first.line, at: first.at });
  return found.sort((a, b) => a.at - b.at);
}

/** Over all cases that this phone wrote in or holds, oldest first. Practice asks too, but after the rest. */
export function unfinishedHere(
  cases: readonly CaseState[],
  device: string | null,
  drugs: DrugActions,
): Unfinished[] {
  const mine = cases.filter((c) => c.heldBy === device || c.entries.some((e) => e.device === device));
  const real = mine.filter((c) => !c.practice).flatMap((c) => unfinishedOf(c, drugs));
  const played = mine.filter((c) => c.practice).flatMap((c) => unfinishedOf(c, drugs));
  return [...real.sort((a, b) => a.at - b.at), ...played.sort((a, b) => a.at - b.at)];
}
