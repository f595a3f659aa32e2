/** What a number field accepts. Ends are included. */
export interface NumberRule {
  unit: string;
  least: number;
  most: number;
  /** Digits after the point; 0 for whole numbers. */
  decimals: number;
}

export interface NumberRead {
  value: number | null;
  /** What is wrong, in words, with the range; null when nothing is. */
  fault: string | null;
}

function range(rule: NumberRule): string {
  return `${rule.least} to ${rule.most} ${rule.unit}`.trim();
}

/** Reads what was typed. A comma counts as a point, as it does in much of the world. */
export function readNumber(text: string, rule: NumberRule): NumberRead {
  const tidy = text.trim().replace(",", ".");
  if (tidy === "") return { value: null, fault: `Enter a number from ${range(rule)}.` };
  if (!/^-?\d+(\.\d*)?$/.test(tidy)) return { value: null, fault: `“${text}” is not a number.` };
  const value = Number(tidy);
  if (value < rule.least || value > rule.most) {
    return {
      value: null,
      fault: `${tidy} is outside ${range(rule)}. Measure again.`,
    };
  }
  return { value: Number(value.toFixed(rule.decimals)), fault: null };
}

/** The text after one key of the pad. Keys that could not lead to a number do nothing. */
export function pressKey(text: string, key: string, rule: NumberRule): string {
  if (key === "⌫") return text.slice(0, -1);
  if (key === ".") return rule.decimals === 0 || text.includes(".") ? text : `${text || "0"}.`;
  const [whole = "", part] = text.split(".");
  if (part !== undefined) return part.length >= rule.decimals ? text : text + key;
  if (whole.length >= String(Math.trunc(rule.most)).length) return text;
  return whole === "0" ? key : text + key;
}
