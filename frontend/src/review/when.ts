/** Times and spans in words. Device times are shown as the device said them; the offset stands beside. */

const DAY = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric" });
const CLOCK = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit" });
const CLOCK_SECONDS = new Intl.DateTimeFormat("en-GB", {
  hour: "2-digit",
  minute: "2-digit",
  second: "2-digit",
});

export const day = (ms: number): string => DAY.format(ms);
export const clock = (ms: number): string => CLOCK.format(ms);
export const clockSeconds = (ms: number): string => CLOCK_SECONDS.format(ms);
export const moment = (ms: number): string => `${day(ms)}, ${clock(ms)}`;
/** An ISO day in the same words; what is none is shown as it stands. */
export function dayOf(iso: string): string {
  const ms = Date.parse(`${iso}T12:00:00Z`);
  return Number.isNaN(ms) ? iso : day(ms);
}

/** By the day of UTC, as the server counts it. */
export const isOverdue = (due: string, now = Date.now()): boolean =>
  due < new Date(now).toISOString().slice(0, 10);

export const timeZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone;

const UNITS: [number, string][] = [
  [86_400_000, "day"],
  [3_600_000, "hour"],
  [60_000, "minute"],
  [1_000, "second"],
];

/** The two largest units of a span, in words: "2 hours 5 minutes". Under a second is "less than a second". */
export function span(ms: number): string {
  let rest = Math.abs(ms);
  const parts: string[] = [];
  for (const [size, unit] of UNITS) {
    const count = Math.floor(rest / size);
    rest -= count * size;
    if (count > 0) parts.push(`${count} ${unit}${count === 1 ? "" : "s"}`);
    else if (parts.length > 0) break;
    if (parts.length === 2) break;
  }
  return parts.length ? parts.join(" ") : "less than a second";
}

/** Of a rule that counts in years. */
export const yearsWords = (years: number | null): string => (years === 1 ? "1 year" : `${years} years`);

export function ago(ms: number, now: number): string {
  return now - ms < 60_000 ? "just now" : `${span(now - ms)} ago`;
}

/** `offset_ms`: the device's clock less the server's. */
export function offsetWords(offset_ms: number | null): string {
  if (offset_ms === null) return "clock not compared yet";
  if (Math.abs(offset_ms) < 2_000) return "clock agrees with the server";
  return `clock ${span(offset_ms)} ${offset_ms > 0 ? "ahead of" : "behind"} the server`;
}

/** Time since the entry before, for the line of time; nothing when it is under a minute. */
export function gap(before: number | null, at: number): string {
  if (before === null || Math.abs(at - before) < 60_000) return "";
  return at > before ? `${span(at - before)} later` : `clock went back by ${span(before - at)}`;
}
