/** The lines of a reaction, in words for the photographer. Pure. */
import type { BodyOf, Pack, ReactionObserved } from "../../types.gen";
import { tablesOf } from "../reaction/tables";

type ReactionType =
  | "reaction.started"
  | "reaction.sign"
  | "reaction.action"
  | "reaction.observed"
  | "reaction.handed_over"
  | "reaction.ended"
  | "reaction.attached"
  | "practice.ended";

const join = (...parts: (string | null | undefined)[]): string => parts.filter(Boolean).join(" · ");

export function signText(pack: Pack | null, id: string): string {
  return (
    tablesOf(pack).signs.find((s) => s.id === id)?.text ??
    pack?.choices.signs.find((s) => s.id === id)?.text ??
    id
  );
}

export function actionText(pack: Pack | null, id: string): string {
  return tablesOf(pack).actions.find((a) => a.id === id)?.text ?? id;
}

/** `pulse 110, pressure 85/50 mmHg, saturation 94 %, breathing 24 a minute`. */
export function readingText(b: Omit<ReactionObserved, "salt">): string {
  const has = (n: number | null | undefined): n is number => n !== null && n !== undefined;
  return [
    has(b.pulse) ? `pulse ${b.pulse}` : "",
    has(b.systolic) || has(b.diastolic) ? `pressure ${b.systolic ?? "?"}/${b.diastolic ?? "?"} mmHg` : "",
    has(b.saturation) ? `saturation ${b.saturation} %` : "",
    has(b.breathing) ? `breathing ${b.breathing} a minute` : "",
    b.note ?? "",
  ]
    .filter(Boolean)
    .join(", ");
}

export const REACTION_TELL: {
  [T in ReactionType]: (body: BodyOf[T], pack: Pack | null) => { title: string; detail: string };
} = {
  "reaction.started": () => ({ title: "Emergency opened", detail: "" }),
  "reaction.sign": (b, p) => ({
    title: b.seen ? "Sign seen" : "Sign no longer seen",
    detail: signText(p, b.sign),
  }),
  "reaction.action": (b, p) => ({
    title: actionText(p, b.action),
    detail: join(b.drug, b.dose, b.by ? `by ${b.by}` : "", b.detail),
  }),
  "reaction.observed": (b) => ({ title: "Readings", detail: readingText(b) }),
  "reaction.handed_over": (b) => ({ title: "Patient handed over", detail: b.to }),
  "reaction.ended": (b) => ({
    title: "Emergency over",
    detail: join(
      b.outcome === "case_goes_on" ? "the case goes on" : "no more is imaged",
      b.late ? lateEnd(b) : "",
      b.note,
    ),
  }),
  "reaction.attached": (b) => ({
    title: "Emergency with no case",
    detail: join(b.to === null ? "belongs to no case" : `belongs to case ${b.code || b.to}`, b.note),
  }),
  "practice.ended": () => ({ title: "This is real", detail: "Practice ended; the whole case counts." }),
};

function lateEnd({ after_min }: { after_min?: number | null }): string {
  const when =
    typeof after_min === "number" ? `about ${after_min} min after it was opened` : "when is not known";
  return `told afterwards: ${when}`;
}

export const REACTION_WORD: Record<ReactionType, string> = {
  "reaction.started": "Emergency opened",
  "reaction.sign": "Sign",
  "reaction.action": "Done in the emergency",
  "reaction.observed": "Readings",
  "reaction.handed_over": "Patient handed over",
  "reaction.ended": "Emergency over",
  "reaction.attached": "Emergency with no case",
  "practice.ended": "This is real",
};
