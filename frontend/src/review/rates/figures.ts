/** Figures as they are shown: no more digits than the counts behind them carry. */

import type { Rate } from "../../types.gen";

const GROUPED = new Intl.NumberFormat("en-GB");

export const count = (n: number): string => GROUPED.format(n);

/** `digits` that count, never in powers of ten, at most four behind the point. */
export function significant(value: number, digits: number): string {
  if (value === 0) return "0";
  const decimals = Math.min(4, Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value)))));
  return fixed(decimals).format(value);
}

const formats = new Map<number, Intl.NumberFormat>();
function fixed(decimals: number): Intl.NumberFormat {
  const kept =
    formats.get(decimals) ??
    new Intl.NumberFormat("en-GB", { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
  formats.set(decimals, kept);
  return kept;
}

/** Two digits up to 20 events, three above: the interval is wider than any further digit. */
export const digitsFor = (events: number): number => (events > 20 ? 3 : 2);

export const perThousand = (rate: Rate): string =>
  rate.events === 0 ? "none seen" : significant(rate.per_1000, digitsFor(rate.events));

export const interval = ([low, high]: [number, number], digits: number): string =>
  `${significant(low, digits)} to ${significant(high, digits)}`;

/** Proportions 0 to 1 as per 1,000. */
export const asPerThousand = (proportion: number, digits = 3): string =>
  significant(proportion * 1000, digits);

export const percent = (proportion: number, digits = 2): string =>
  `${significant(proportion * 100, digits)} %`;

/** A chance, never as 0: the smallest shown is "below 0.0001". */
export function chance(p: number): string {
  if (p < 0.0001) return "below 0.0001";
  return significant(p, 2);
}

/** With its sign, a true minus; a difference of nothing has none. */
export function signed(value: number, digits: number): string {
  const shown = significant(Math.abs(value), digits);
  if (value === 0) return shown;
  return `${value > 0 ? "+" : "−"}${shown}`;
}

export const signedInterval = ([low, high]: [number, number], digits: number): string =>
  `${signed(low, digits)} to ${signed(high, digits)}`;

/** The month in words: "March 2026"; what is none is shown as it stands. */
export function monthWords(month: string): string {
  const at = Date.parse(`${month}-15T12:00:00Z`);
  if (Number.isNaN(at)) return month;
  return new Intl.DateTimeFormat("en-GB", { month: "long", year: "numeric", timeZone: "UTC" }).format(at);
}

export function monthShort(month: string): string {
  const at = Date.parse(`${month}-15T12:00:00Z`);
  if (Number.isNaN(at)) return month;
  return new Intl.DateTimeFormat("en-GB", { month: "short", year: "2-digit", timeZone: "UTC" }).format(at);
}

export function periodWords(first: string | null, last: string | null): string {
  if (first && last)
    return first === last ? monthWords(first) : `${monthWords(first)} to ${monthWords(last)}`;
  if (first) return `from ${monthWords(first)} on`;
  if (last) return `up to ${monthWords(last)}`;
  return "the whole log";
}
