/** Refusing a measure at its field, in words, with the range that the pack allows. */
export interface Range {
  low: number;
  high: number;
  why: string;
}

export type Checked = { ok: true; value: number } | { ok: false; why: string };

/** `text` is what stands in the field; a comma counts as a decimal point. */
export function checkNumber(text: string, range: Range, unit: string): Checked {
  const clean = text.trim().replace(",", ".");
  if (clean === "") return { ok: false, why: `Enter a number from ${range.low} to ${range.high} ${unit}.` };
  const value = Number(clean);
  if (!Number.isFinite(value)) return { ok: false, why: `"${text}" is not a number.` };
  if (value < range.low || value > range.high) {
    const why = range.why === "" ? "" : ` ${range.why}`;
    return { ok: false, why: `${clean} ${unit} is outside ${range.low} to ${range.high} ${unit}.${why}` };
  }
  return { ok: true, value };
}
