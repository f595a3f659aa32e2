/** Tells what officers and leads decided about an incident. */

import type { BodyOf } from "../types.gen";
import type { Names } from "./names";
import { row, type Telling, told } from "./told";
import { HARM_SCALE, harmWords } from "./words";

export const PREVENTABLE = { yes: "Yes", no: "No", unclear: "Unclear" } as const;

type Kind =
  | "incident.classified"
  | "incident.commented"
  | "incident.linked"
  | "incident.parted"
  | "action.added"
  | "action.changed"
  | "action.finished"
  | "incident.closing_asked"
  | "incident.closed"
  | "incident.reopened";

export const REVIEW_TELLERS: { [T in Kind]: (body: BodyOf[T], names: Names) => Telling } = {
  "incident.classified": (b) =>
    told("Classified at the desk", [
      row("Harm, as the officer sees it", b.harm ? `${harmWords(b.harm)} (${HARM_SCALE})` : "left open"),
      row("Preventable", b.preventable ? PREVENTABLE[b.preventable] : "left open"),
      row("What contributed", b.factors.join(", ")),
      row(
        "Reaction class",
        b.reaction ? `${b.reaction.grade}, ${b.reaction.scale} (table ${b.reaction.version})` : "",
      ),
      row("Note", b.note),
    ]),
  "incident.commented": (b) => told("Comment at the desk", [row("Text", b.text)]),
  "incident.linked": (b) =>
    told(b.linked ? "Linked to a like incident" : "Link taken back", [
      row("Other", b.other),
      row("Why", b.why),
    ]),
  "incident.parted": (b) =>
    told(b.parted ? "Emergency counted by itself" : "Emergency counted with the event again", [
      row("Emergency", b.reaction),
      row("Why", b.why),
    ]),
  "action.added": (b) =>
    told("Action added", [row("What", b.text), row("Owner", b.owner), row("Due", b.due)]),
  "action.changed": (b) =>
    told("Action moved", [row("Owner", b.owner), row("Due", b.due), row("Why", b.why)]),
  "action.finished": (b) => told(b.done ? "Action done" : "Action dropped", [row("Note", b.note)]),
  "incident.closing_asked": (b) => told("Second look asked for", [row("Note", b.note)]),
  "incident.closed": (b) => told("Incident closed", [row("Note", b.note)]),
  "incident.reopened": (b) => told("Incident opened again", [row("Why", b.why)], "caution"),
};
