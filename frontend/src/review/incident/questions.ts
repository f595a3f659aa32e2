/** What is still to be answered before an incident can be closed; each names the part of the page where that is done. */

import type { IncidentRow, Review, Timeline } from "../../types.gen";
import { isOverdue } from "../when";
import type { PartId } from "./parts";

export interface Question {
  text: string;
  part: PartId;
}

export function openQuestions(row: IncidentRow, review: Review, timeline: Timeline | null): Question[] {
  if (review.state === "closed" && !review.late) return [];
  const found: Question[] = [];
  const ask = (part: PartId, text: string) => found.push({ part, text });
  const judged = review.judged?.classified;
  if (review.late) ask("case", "What came after it was closed: does it change anything?");
  if (row.reached_patient === null) ask("classify", "Nobody said whether it reached the patient.");
  else if (row.reached_patient && row.harm === null) ask("classify", "The reporter gave no degree of harm.");
  if (!judged) ask("classify", "It is not classified.");
  if (judged && judged.harm === null) ask("classify", "Harm is left open.");
  if (judged && judged.preventable === null)
    ask("classify", "Whether it could have been prevented is left open.");
  for (const join of timeline?.joins ?? []) {
    if (join.incident === row.line && join.how === "rule" && !join.parted) {
      ask("emergency", "An emergency is counted as part of this one by the rule alone: is it the same?");
    }
  }
  const running = (timeline?.reactions ?? []).filter((one) => one.ended_at === null).length;
  if (running > 0) ask("case", "An emergency of this case has no end in the log: no class is derived.");
  const unread = (timeline?.entries ?? []).filter((entry) => !entry.known).length;
  if (unread > 0) {
    ask(
      "case",
      `${unread === 1 ? "One line" : `${unread} lines`} of its case cannot be read by this version.`,
    );
  }
  const open = review.actions.filter((action) => action.state === "open");
  const late = open.filter((action) => isOverdue(action.due)).length;
  if (open.length > 0) {
    const words = open.length === 1 ? "One action is open" : `${open.length} actions are open`;
    ask("actions", late > 0 ? `${words}, ${late} overdue.` : `${words}.`);
  }
  if (review.closing && review.closing.closed_at === null) ask("look", "The second look is not taken yet.");
  return found;
}
