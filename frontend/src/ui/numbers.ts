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

/**
 * Reads what was typed. A comma counts as a point, as it does in much of the world, but not where it may part thousands.
 * Nothing is put right: what would have to be rounded is asked for again.
 */
export function readNumber(text: string, rule: NumberRule): NumberRead {
  const typed = text.trim();
  const tidy = typed.replace(",", ".");
  const refused = (fault: string): NumberRead => ({ value: null, fault });
  if (tidy === "") return refused(`Enter a number from ${range(rule)}.`);
  if (!/^-?[0-9]+(\.[0-9]*)?$/.test(tidy)) {
    return refused(`“${text}” is not a number. Enter ${range(rule)}, with the digits 0 to 9.`);
  }
  if (/,[0-9]{3}$/.test(typed)) {
    return refused(`“${text}” can be read in two ways. Write decimals with a point, thousands with nothing.`);
  }
  const value = Number(tidy);
  if (value < rule.least || value > rule.most) {
    return refused(`${tidy} is outside ${range(rule)}. Measure again.`);
  }
  if (Number(value.toFixed(rule.decimals)) !== value) {
    return refused(
      rule.decimals === 0
        ? `${tidy} is not a whole number. Enter a whole number from ${range(rule)}.`
        : `${tidy} has more digits than are asked for: at most ${rule.decimals} after the point.`,
    );
  }
  return { value, fault: null };
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
