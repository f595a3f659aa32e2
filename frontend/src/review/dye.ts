/** Tells the lines of screening, dose, injection and watch. Amounts are shown as they were written, never rounded. */
import type { BodyOf } from "../types.gen";
import type { Names } from "./names";
import { row, type Telling, told, yes } from "./told";
import { languageWords, modalityWords, plain } from "./words";

type DyeType =
  | "screening.answered"
  | "physician.asked"
  | "stop.released"
  | "dye.left_out"
  | "dose.worked"
  | "dose.checked"
  | "dye.injected"
  | "dye.flushed"
  | "leak.asked"
  | "watch.started"
  | "watch.ended"
  | "takeaway.given";

const CONSEQUENCE = {
  go: "goes on",
  note: "to be kept in mind",
  ask: "the physician is asked",
  stop: "a stop",
} as const;

const HOW = {
  printed: "printed",
  shared: "shared to the patient's own device",
  shown: "shown on the phone",
  read_out: "read out",
  declined: "not wanted",
} as const;

const time = (at: number): string => new Date(at).toLocaleTimeString(undefined, { hourCycle: "h23" });

export const DYE_TELLERS: { [T in DyeType]: (body: BodyOf[T], names: Names) => Telling } = {
  "screening.answered": (b, n) =>
    told(
      `Screening: ${n.question(b.question)}`,
      [
        row("Answer", n.answer(b.question, b.answer)),
        row("By the clinic's guidance", b.consequence ? CONSEQUENCE[b.consequence] : ""),
        row("Why it was changed", b.why ?? ""),
        row("Note", b.note),
      ],
      b.consequence === "stop" ? "danger" : b.consequence === "ask" ? "caution" : "plain",
    ),
  "physician.asked": (b, n) =>
    told(
      b.goes_on ? "The physician says: go on" : "The physician says: stop",
      [
        row("Asked about", n.question(b.question)),
        row("The answer", n.answer(b.question, b.answer)),
        row("By", `${b.by}, ${b.role}`),
        row("In their words", b.words),
      ],
      b.goes_on ? "plain" : "danger",
    ),
  "dye.left_out": (b, n) =>
    told(
      `Without dye: ${b.modalities.map(modalityWords).join(", ")}`,
      [
        row("Why", b.why),
        row("What had stopped it", b.question ? n.question(b.question) : b.step ? n.step(b.step) : ""),
      ],
      "caution",
    ),
  "stop.released": (b, n) =>
    told(
      "A stop was released",
      [
        row("What had stopped it", b.question ? n.question(b.question) : n.step(b.step)),
        row("The answer", b.question && b.answer ? n.answer(b.question, b.answer) : ""),
        row("By", `${b.by}, ${b.role}`),
        row("In their words", b.words),
      ],
      "caution",
    ),
  "dose.worked": (b, n) =>
    told(`Dose worked: ${n.dye(b.dye)}`, [
      row("Working", b.working),
      row("Weight", b.weight_kg === null ? "" : `${b.weight_kg} kg`),
      row("Concentration", `${b.concentration_mg_ml} mg/mL`),
      row("Dose", `${b.dose_mg} mg`),
      row("Volume", `${b.volume_ml} mL`),
      row("At the clinic's cap", b.capped ? "yes" : ""),
      row("Together with", b.with_dye ? n.dye(b.with_dye) : ""),
      row("Made up", b.made_up_min == null ? "" : `${b.made_up_min} min before`),
    ]),
  "dose.checked": (b, n) =>
    told(
      !b.agrees
        ? `Second check differs: ${n.dye(b.dye)}`
        : b.what === "order"
          ? `The physician's own order checked by a second person: ${n.dye(b.dye)}`
          : `Dose checked by a second person: ${n.dye(b.dye)}`,
      [
        row("By", `${b.by}, ${b.role}`),
        row(b.what === "order" ? "Taken down by" : "Worked by", b.worked_by),
        row(
          "Their own figure",
          b.own_volume_ml == null ? "" : `${b.own_volume_ml} mL, before they saw the phone's`,
        ),
        row("Volume compared", b.volume_ml == null ? "" : `${b.volume_ml} mL`),
        row(b.what === "order" ? "The order, as noted" : "Note", b.note),
      ],
      b.agrees ? "plain" : "danger",
    ),
  "dye.injected": (b, n) =>
    told(`Injection began: ${n.dye(b.dye)}`, [
      row("Pressed at", time(b.pressed_at)),
      row("Arm", b.arm),
      row("Route", b.route),
    ]),
  "dye.flushed": (b, n) => told(`Flushed after ${n.dye(b.dye)}`),
  "leak.asked": (b, n) =>
    told(
      b.leak ? `Leak at the needle: ${n.dye(b.dye)}` : `No leak at the needle: ${n.dye(b.dye)}`,
      [row("Asked", b.moment === "at_the_end" ? "at the end" : "at the injection"), row("Note", b.note)],
      b.leak ? "danger" : "plain",
    ),
  "watch.started": (b) =>
    told(`Watch began: ${b.minutes} min`, [
      row("By the clinic's rules", b.rules.join(", ")),
      row("Counted from", time(b.since)),
    ]),
  "watch.ended": (b) =>
    told(
      b.early ? "Watch ended early" : "Watch ended",
      [
        row("After", `${b.after_min} min`),
        row("Well", b.well === null || b.well === undefined ? "not said" : yes(b.well)),
        row("Why", b.why),
      ],
      b.early || b.well === false ? "caution" : "plain",
    ),
  "takeaway.given": (b) =>
    told(
      b.how === "declined" ? "Take-away card not wanted" : "Take-away card given",
      [
        row("How", HOW[b.how]),
        row("Language", languageWords(b.language)),
        row("Parts", b.parts.map(plain).join(", ")),
      ],
      b.how === "declined" ? "caution" : "plain",
    ),
};
