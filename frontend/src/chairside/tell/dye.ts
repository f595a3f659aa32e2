/** The lines of screening, dose, injection and watch, told in words. Pure. */
import type { BodyOf, Pack } from "../../types.gen";
import { languageName } from "../languages";
import { clock, MODALITY_WORD } from "../words";

type Told = { title?: string; detail?: string };
type Tell<T extends keyof BodyOf> = (body: BodyOf[T], pack: Pack | null) => Told;

const together = (...parts: (string | null | undefined)[]): string => parts.filter(Boolean).join(" · ");

export const CONSEQUENCE_WORD = {
  go: "Goes on",
  note: "Keep in mind",
  ask: "Ask the physician",
  stop: "Stop",
} as const;

export const GIVEN_WORD = {
  printed: "Printed",
  shared: "Shared",
  shown: "Shown on the phone",
  read_out: "Read out",
  declined: "Not wanted",
} as const;

export const ARM_WORD = { right: "Right arm", left: "Left arm" } as const;

const plain = (id: string): string => id.replaceAll(/[_-]+/g, " ");
/** What the pack calls a dye, or the id made readable. */
export const dyeName = (pack: Pack | null, id: string): string =>
  pack?.dyes?.find((d) => d.id === id)?.name ?? plain(id);

/** A question and its answer in the pack's words. */
function asked(pack: Pack | null, question: string, answer: string | null | undefined): string {
  const found = pack?.screening?.find((q) => q.id === question);
  const said = answer ? (found?.answers.find((a) => a.id === answer)?.text ?? plain(answer)) : "";
  const text = found?.text ?? `${plain(question)}:`;
  return said ? `${text} ${said}` : text;
}

export const DYE_TELL: { [T in keyof BodyOf]?: Tell<T> } = {
  "screening.answered": (b, p) => ({
    detail: together(
      asked(p, b.question, b.answer),
      b.consequence && b.consequence !== "go" ? CONSEQUENCE_WORD[b.consequence].toLowerCase() : "",
      b.why ? `changed: ${b.why}` : "",
      b.note,
    ),
  }),
  "physician.asked": (b, p) => ({
    title: b.goes_on ? "The physician says: go on" : "The physician says: stop",
    detail: together(asked(p, b.question, b.answer), `${b.by}, ${b.role}`, b.words && `“${b.words}”`),
  }),
  "dye.left_out": (b) => ({ detail: together(b.modalities.map((m) => MODALITY_WORD[m]).join(", "), b.why) }),
  "stop.released": (b, p) => ({
    detail: together(
      b.question ? asked(p, b.question, b.answer) : (p?.steps.find((s) => s.id === b.step)?.text ?? b.step),
      `${b.by}, ${b.role}`,
      `“${b.words}”`,
    ),
  }),
  "dose.worked": (b, p) => ({
    detail: together(dyeName(p, b.dye), b.working, b.capped ? "at the clinic's cap" : ""),
  }),
  "dose.checked": (b, p) => ({
    title: !b.agrees
      ? "Second check differs"
      : b.what === "order"
        ? "The physician's own order checked by a second person"
        : "Dose checked by a second person",
    detail: together(
      dyeName(p, b.dye),
      `${b.by}, ${b.role}`,
      b.own_volume_ml ? `own figure ${b.own_volume_ml} mL` : "",
      b.note,
    ),
  }),
  "dye.injected": (b, p) => ({
    detail: together(
      dyeName(p, b.dye),
      `pressed at ${clock(b.pressed_at)}`,
      b.arm ? ARM_WORD[b.arm].toLowerCase() : "",
    ),
  }),
  "dye.flushed": (b, p) => ({ detail: dyeName(p, b.dye) }),
  "leak.asked": (b, p) => ({
    title: b.leak ? "Leak at the needle" : "No leak at the needle",
    detail: together(dyeName(p, b.dye), b.moment === "at_the_end" ? "looked at at the end" : "", b.note),
  }),
  "watch.started": (b) => ({
    detail: together(`${b.minutes} min from ${clock(b.since)}`, b.rules.map(plain).join(", ")),
  }),
  "watch.ended": (b) => ({
    title: b.early ? "Watch ended early" : "Watch ended",
    detail: together(`after ${b.after_min} min`, b.well === false ? "not well" : "", b.why),
  }),
  "takeaway.given": (b) => ({ detail: together(GIVEN_WORD[b.how], languageName(b.language)) }),
};
