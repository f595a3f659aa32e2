/** Lines that let something go ahead, or end it, without what they must say for that: who, as what, and why. The screens
 * ask for it; that such a line counts for nothing is held here, whoever wrote it. Counterpart of `log/lacking.py`, which
 * says what each lack is. Pure. */
import type { ScreeningAnswered, TimelineEntry } from "../types.gen";

export type Lack = NonNullable<TimelineEntry["lacks"]>;
type Body = Record<string, unknown>;
type Consequence = NonNullable<ScreeningAnswered["consequence"]>;

const ORDER: readonly Consequence[] = ["go", "note", "ask", "stop"];
const said = (...texts: unknown[]): boolean =>
  texts.every((text) => typeof text === "string" && text.trim() !== "");

/** Whether what held the dye back is replaced by what holds it back less, or by nobody knows what. */
function eases(before: Consequence | null | undefined, now: unknown): boolean {
  if (before !== "ask" && before !== "stop") return false;
  return ORDER.indexOf(now as Consequence) < ORDER.indexOf(before);
}

/** What a line lacks, null where nothing. `held`: what the answer to a question that stands before it leads to. */
export function lackOf(
  type: string,
  body: Body,
  held: (question: string) => Consequence | null | undefined,
): Lack | null {
  switch (type) {
    case "stop.released":
      return said(body.by, body.role, body.words) ? null : "release";
    case "physician.asked":
      return body.goes_on !== true || said(body.by, body.role) ? null : "go_ahead";
    case "screening.answered":
      return eases(held(String(body.question)), body.consequence) && !said(body.why) ? "eased" : null;
    case "step.skipped":
      return said(body.reason) ? null : "skip";
    case "series.stopped":
    case "dye.left_out":
      return said(body.why) ? null : "reason";
    default:
      return null;
  }
}

/** Whether a line that lacks this stands all the same: it only ever ends something. */
export const standsAllTheSame = (lack: Lack | null): boolean => lack === null || lack === "reason";
