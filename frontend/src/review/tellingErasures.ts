/** Erasing by rule, in words: what the server's own lines of it say, and what stands over a case that was erased. */
import type { BodiesErased, RetentionSet, Timeline } from "../types.gen";
import { row, type Telling, told } from "./told";
import { day, yearsWords } from "./when";

const ruleOf = (b: BodiesErased): string =>
  b.rule === "age" ? `older than ${yearsWords(b.years)}` : "asked for, this case alone";

export const ERASURE_TELLERS = {
  "bodies.erased": (b: BodiesErased): Telling =>
    told(
      b.rule === "age" ? "Erased by rule" : "Erased by request",
      [
        row("Rule", ruleOf(b)),
        row("Why", b.why),
        row("Lines whose content went", String(b.bodies.length)),
        row("Of these, the desk's own", b.decisions?.length ? String(b.decisions.length) : ""),
        row("Kept aside as refused, and gone too", b.refused ? String(b.refused) : ""),
        row(
          "What stays",
          "the chain of lines, the counts as they were, and what the desk decided, without its words",
        ),
      ],
      "caution",
    ),
  "retention.set": (b: RetentionSet): Telling =>
    told("How long cases are kept", [
      row("From now on", b.years === null ? "for good" : `${yearsWords(b.years)} after the last line`),
      row("Why", b.why),
    ]),
};

/** When and why a case was erased, the last time; null where it never was. */
export function erasedOf(timeline: Timeline): { title: string; why: string } | null {
  const stone = timeline.entries.filter(({ type, body }) => type === "bodies.erased" && body).at(-1);
  if (!stone) return null;
  const body = stone.body as unknown as BodiesErased;
  const how = body.rule === "age" ? "by rule" : "by request";
  return { title: `Erased ${how} on ${day(stone.at)}`, why: `${ruleOf(body)} (${body.why})` };
}
