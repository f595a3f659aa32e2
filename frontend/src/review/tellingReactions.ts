/** Tells the lines of a reaction, and of practice that turned real. Signs stand as seen: a class is no line's to say. */
import type { BodyOf, ReactionObserved } from "../types.gen";
import type { Names } from "./names";
import { type Row, row, type Telling, told } from "./told";

type ReactionType =
  | "reaction.started"
  | "reaction.sign"
  | "reaction.action"
  | "reaction.observed"
  | "reaction.handed_over"
  | "reaction.ended"
  | "reaction.attached"
  | "practice.ended";

const measured = (n: number | null | undefined, unit: string): string =>
  n === null || n === undefined ? "" : `${n} ${unit}`;

/** Each reading with its unit; what was not taken is left out. */
export function readingRows(b: Omit<ReactionObserved, "salt">): (Row | null)[] {
  const pressure =
    (b.systolic ?? null) === null && (b.diastolic ?? null) === null
      ? ""
      : `${b.systolic ?? "?"} over ${b.diastolic ?? "?"} mmHg`;
  return [
    row("Pulse", measured(b.pulse, "a minute")),
    row("Blood pressure", pressure),
    row("Saturation", measured(b.saturation, "%")),
    row("Breathing", measured(b.breathing, "a minute")),
    (b.green_dye_s ?? null) !== null && (b.saturation ?? null) !== null
      ? row(
          "Mind",
          `${Math.round((b.green_dye_s ?? 0) / 60)} min after the green dye, by which an oximeter reads low`,
        )
      : null,
    row("Note", b.note),
  ];
}

export const REACTION_TELLERS: { [T in ReactionType]: (body: BodyOf[T], names: Names) => Telling } = {
  "reaction.started": () => told("Way out opened: a reaction", [], "danger"),
  "reaction.sign": (b, n) =>
    told(
      `${b.seen ? "Sign seen" : "Sign no longer seen"}: ${n.sign(b.sign)}`,
      [],
      b.seen ? "danger" : "caution",
    ),
  "reaction.action": (b, n) =>
    told(
      `Done: ${n.action(b.action)}`,
      [row("Drug, as said", b.drug), row("Dose, as said", b.dose), row("By", b.by), row("Detail", b.detail)],
      "caution",
    ),
  "reaction.observed": (b) => told("Readings", readingRows(b), "caution"),
  "reaction.handed_over": (b) => told(`Patient handed over to ${b.to}`, [], "caution"),
  "reaction.ended": (b) =>
    told(
      b.outcome === "case_goes_on" ? "Reaction over: the case goes on" : "Reaction over: no more is imaged",
      [row("Told afterwards", b.late ? lateEnd(b) : ""), row("Note", b.note)],
      "caution",
    ),
  "reaction.attached": (b) =>
    told(
      b.to === null
        ? "This reaction belongs to no case"
        : `Reaction that was opened with no case, now of case ${b.code || b.to}`,
      [row("Its lines stand under", b.reaction), row("Note", b.note)],
      "caution",
    ),
  "practice.ended": () =>
    told(
      "This is real: practice ended",
      [["Counts", "The whole case, what stands before this too."]],
      "danger",
    ),
};

function lateEnd({ after_min }: { after_min?: number | null }): string {
  return typeof after_min === "number"
    ? `Over about ${after_min} min after it was opened`
    : "When it was over is not known";
}
