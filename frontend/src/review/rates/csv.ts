/** A table as text for a spreadsheet: RFC 4180, each figure whole, as the server gave it. */

import type { RateReport, RateRow } from "../../types.gen";

export type Cell = string | number | null | undefined;

/** A text that a spreadsheet would take for a formula is kept one with an apostrophe before it. */
export function csv(rows: readonly Cell[][]): string {
  return rows.map((row) => row.map(field).join(",")).join("\r\n");
}

function field(cell: Cell): string {
  if (cell === null || cell === undefined) return "";
  if (typeof cell === "number") return String(cell);
  const safe = /^[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

export const RATE_COLUMNS = [
  "id",
  "name",
  "events",
  "procedures",
  "per_1000",
  "exact95_low",
  "exact95_high",
  "wilson95_low",
  "wilson95_high",
  "poisson95_low",
  "poisson95_high",
  "rule_of_three",
  "upper95_one_sided",
  "said",
  "log_position",
];

export function ratesCsv(report: RateReport, name: (key: string) => string): string {
  const line = (row: RateRow, key: string, word: string): Cell[] => [
    key,
    word,
    row.events,
    row.procedures,
    row.rate?.per_1000,
    ...(row.rate ? [...row.rate.exact95, ...row.rate.wilson95, ...row.rate.poisson95] : Array(6).fill(null)),
    row.rate?.rule_of_three,
    row.rate?.upper95_one_sided,
    row.none ?? row.rate?.small_number.join(" "),
    report.position,
  ];
  return csv([
    RATE_COLUMNS,
    ...report.rows.map((row) => line(row, row.key, name(row.key))),
    line(report.total, "", "all"),
  ]);
}
