/** The take-away card: which lines, in which language, written which way. Pure. */
import type { CaseState } from "../../log";
import type { Pack, Takeaway, TakeawayLine } from "../../types.gen";
import { directionOf } from "../languages";

export { directionOf };

/** The lines for the dyes that went in. */
export function linesFor(card: Takeaway, state: CaseState): TakeawayLine[] {
  const given = new Set(state.dye.injected.map((i) => i.body.dye));
  return card.lines.filter((l) => l.dyes.length === 0 || l.dyes.some((d) => given.has(d)));
}

/** Languages in which the whole card can be read, the pack's own first. */
export function languagesOf(card: Takeaway, pack: Pick<Pack, "language">): string[] {
  const whole = Object.keys(card.title).filter(
    (l) => card.reach[l] !== undefined && card.lines.every((line) => line.text[l] !== undefined),
  );
  return [pack.language, ...whole.filter((l) => l !== pack.language)].filter((l) => whole.includes(l));
}

/** A number to call, digits with signs between: in a text that runs from right to left its groups would change places,
 * and the number would be another one. */
const NUMBER = /\+?\d(?:[\d ().-]*\d)?/g;

export interface Piece {
  text: string;
  /** Digits that keep their own order, whichever way the text around them runs. */
  number: boolean;
}

export function piecesOf(text: string): Piece[] {
  const found: Piece[] = [];
  let from = 0;
  for (const match of text.matchAll(NUMBER)) {
    if (match.index > from) found.push({ text: text.slice(from, match.index), number: false });
    found.push({ text: match[0], number: true });
    from = match.index + match[0].length;
  }
  if (from < text.length) found.push({ text: text.slice(from), number: false });
  return found;
}

/** The same as plain text: numbers between the marks of an isolate from left to right. */
function isolated(text: string, language: string): string {
  if (directionOf(language) === "ltr") return text;
  return piecesOf(text)
    .map((p) => (p.number ? `\u2066${p.text}\u2069` : p.text))
    .join("");
}

/** The card as plain text, for sharing. */
export function cardText(
  card: Takeaway,
  lines: readonly TakeawayLine[],
  language: string,
  clinic: string,
): string {
  const said = lines.map((l) => `• ${isolated(l.text[language] ?? "", language)}`);
  const reach = isolated(card.reach[language] ?? "", language);
  return [card.title[language], "", ...said, "", reach, "", clinic].join("\n");
}
