/** The take-away card: which lines, in which language, written which way. Pure. */
import type { CaseState } from "../../log";
import type { Pack, Takeaway, TakeawayLine } from "../../types.gen";

/** Scripts that are written from right to left, by the language's tag. */
const RIGHT_TO_LEFT = new Set([
  "ar",
  "arc",
  "ckb",
  "dv",
  "fa",
  "he",
  "ku",
  "nqo",
  "ps",
  "sd",
  "ug",
  "ur",
  "yi",
]);

export function directionOf(language: string): "rtl" | "ltr" {
  return RIGHT_TO_LEFT.has(language.split("-")[0]?.toLowerCase() ?? "") ? "rtl" : "ltr";
}

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

/** The card as plain text, for sharing. */
export function cardText(
  card: Takeaway,
  lines: readonly TakeawayLine[],
  language: string,
  clinic: string,
): string {
  const said = lines.map((l) => `• ${l.text[language] ?? ""}`);
  return [card.title[language], "", ...said, "", card.reach[language], "", clinic].join("\n");
}
