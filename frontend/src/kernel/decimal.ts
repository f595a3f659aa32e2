/** Decimals exactly: a whole number of 10^-places. No binary fraction ever stands in for one. */
import { InputError } from "./shape";

export interface Decimal {
  readonly n: bigint;
  readonly places: number;
}

const PLAIN = /^[0-9]{1,6}(\.[0-9]{1,6})?$/;

/** Why a text is no decimal above 0 with at most six digits on either side; null where it is one. */
export function reasonAgainst(text: string): string | null {
  if (/^ *$/.test(text)) return "is missing";
  const said = `is "${text}"`;
  if (text.includes(",")) return `${said}; write the decimal with a point, as 18.5, and no comma`;
  if (text.startsWith("-")) return `${said}; must be more than 0`;
  if (!PLAIN.test(text)) {
    return `${said}; must be plain digits in the unit asked for, at most six on either side of the point`;
  }
  return /^[0.]*$/.test(text) ? `${said}; must be more than 0` : null;
}

/** The decimal that somebody typed. Throws InputError naming `field` and why. */
export function typed(field: string, text: string): Decimal {
  const reason = reasonAgainst(text);
  if (reason) throw new InputError(field, reason);
  return decimal(text);
}

/** A decimal that is known to be one, such as the pack's own. */
export function decimal(text: string): Decimal {
  const [whole = "", part = ""] = text.split(".");
  return { n: BigInt(whole + part), places: part.length };
}

export const whole = (n: number | bigint): Decimal => ({ n: BigInt(n), places: 0 });

/** Plain digits: no trailing zeros, and a leading one. Of what is not negative. */
export function written({ n, places }: Decimal): string {
  const digits = n.toString().padStart(places + 1, "0");
  const cut = digits.length - places;
  const part = digits.slice(cut).replace(/0+$/, "");
  return digits.slice(0, cut) + (part ? `.${part}` : "");
}

const at = ({ n, places }: Decimal, wanted: number): bigint => n * 10n ** BigInt(wanted - places);

function level(one: Decimal, other: Decimal): [bigint, bigint, number] {
  const places = Math.max(one.places, other.places);
  return [at(one, places), at(other, places), places];
}

export const times = (one: Decimal, other: Decimal): Decimal => ({
  n: one.n * other.n,
  places: one.places + other.places,
});

export function plus(one: Decimal, other: Decimal): Decimal {
  const [a, b, places] = level(one, other);
  return { n: a + b, places };
}

export function minus(one: Decimal, other: Decimal): Decimal {
  const [a, b, places] = level(one, other);
  return { n: a - b, places };
}

/** Below 0, 0 or above 0 as the first is less than, equal to or more than the second. */
export function compare(one: Decimal, other: Decimal): number {
  const [a, b] = level(one, other);
  return a < b ? -1 : a > b ? 1 : 0;
}

/** How many whole steps go into an amount, and whether half a step or more is left over. */
export function wholeSteps(amount: Decimal, step: Decimal): [Decimal, boolean] {
  const [a, b] = level(amount, step);
  return [whole(a / b), (a % b) * 2n >= b];
}

/** A ratio for the eye, halves up. Nothing is decided by it. */
export function shownRatio(amount: Decimal, by: Decimal, places = 3): Decimal {
  const unit: Decimal = { n: 1n, places };
  const [steps, more] = wholeSteps(amount, times(by, unit));
  return times(more ? plus(steps, whole(1)) : steps, unit);
}
