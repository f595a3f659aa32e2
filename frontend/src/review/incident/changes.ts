/** Who changed what of a review while somebody else had an older one before them. */

import type { Action, Review } from "../../types.gen";
import { moment } from "../when";
import { harmWords } from "../words";

/** In words, one for each change; `name` turns a person's id into a name. */
export function changesBetween(was: Review, now: Review, name: (id: string) => string): string[] {
  const said: string[] = [];
  const judged = now.judged;
  if (judged && judged.at !== was.judged?.at) {
    const { by, harm, preventable } = judged.classified;
    said.push(
      `${name(by)} classified it, ${moment(judged.at)}: harm ${harm ? harmWords(harm) : "left open"}, ` +
        `preventable ${preventable ?? "left open"}.`,
    );
  }
  for (const comment of now.comments.slice(was.comments.length)) {
    said.push(`${name(comment.by)} wrote: “${comment.text}”`);
  }
  for (const action of now.actions) said.push(...actionChanges(action, was, name));
  for (const link of now.links) {
    if (!was.links.some((old) => old.other === link.other)) {
      said.push(`${name(link.by)} linked a like incident: ${link.why}`);
    }
  }
  if (was.links.some((old) => !now.links.some((link) => link.other === old.other))) {
    said.push("A link to a like incident was taken back.");
  }
  return [...said, ...closingChanges(was, now, name)];
}

function actionChanges(action: Action, was: Review, name: (id: string) => string): string[] {
  const old = was.actions.find((other) => other.action === action.action);
  const what = `“${action.text}”`;
  if (!old)
    return [`${name(action.added_by)} added the action ${what} for ${action.owner}, due ${action.due}.`];
  if (old.state !== action.state)
    return [`${name(action.ended_by ?? "")} set the action ${what} to ${action.state}.`];
  if (old.owner !== action.owner || old.due !== action.due) {
    return [`${name(action.changed_by ?? "")} moved the action ${what}: ${action.owner}, due ${action.due}.`];
  }
  return [];
}

function closingChanges(was: Review, now: Review, name: (id: string) => string): string[] {
  const closing = now.closing;
  if (closing?.closed_by && closing.closed_at !== was.closing?.closed_at) {
    return [`${name(closing.closed_by)} closed it, ${moment(closing.closed_at ?? 0)}.`];
  }
  if (closing && closing.asked_at !== was.closing?.asked_at) {
    return [`${name(closing.asked_by)} asked for the second look: ${closing.asked_note}`];
  }
  if (!closing && was.closing)
    return [`${name(now.reopened_by ?? "")} opened it again: ${now.reopened_why ?? ""}`];
  return [];
}
