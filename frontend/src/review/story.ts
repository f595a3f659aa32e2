/** One case as a line of time: each line told, joined to what amended it and to what had been advised. */

import type { BodyOf, LineAmended, LinesConfirmed, Timeline, TimelineEntry } from "../types.gen";
import type { Names } from "./names";
import { advisedRows, type Row, type Telling, tell } from "./telling";
import { chinWords, deg, turnWords } from "./words";

export interface Change {
  label: string;
  was: string;
  now: string;
}

export interface Beat {
  entry: TimelineEntry;
  telling: Telling;
  /** Set when a later line replaced this one; `withdrawn` when that line said that it did not happen. */
  amendedBy: TimelineEntry | null;
  withdrawn: boolean;
  /** Set when this line amends an earlier one. */
  amends: TimelineEntry | null;
  /** Who said afterwards that they wrote this line, which names nobody. */
  confirmed: string[];
  changes: Change[];
  /** Label, as advised, as it was. Empty unless this line says how a pose was in truth. */
  beside: [label: string, advised: string, was: string][];
}

export function storyOf(timeline: Timeline, namesFor: (pack: string | null) => Names): Beat[] {
  const byId = new Map(timeline.entries.map((entry) => [entry.id, entry]));
  const confirmed = confirmedIn(timeline);
  return timeline.entries.map((entry) => {
    const names = namesFor(entry.pack);
    const amendedBy = entry.amended_by ? (byId.get(entry.amended_by) ?? null) : null;
    const amendment =
      entry.type === "line.amended" && entry.body ? (entry.body as unknown as LineAmended) : null;
    const amends = amendment ? (byId.get(amendment.line) ?? null) : null;
    return {
      entry,
      telling: tell(entry.type, entry.known, entry.body, names),
      amendedBy,
      withdrawn: amendedBy?.body?.body === null,
      amends,
      confirmed: entry.actor ? [] : (confirmed.get(`${entry.device} ${entry.id}`) ?? []),
      changes: amendment && amends ? changesOf(amends, amendment, names) : [],
      beside: besideOf(entry, names),
    };
  });
}

/** By phone and line. What one phone's lines were, another one can't say. */
function confirmedIn(timeline: Timeline): Map<string, string[]> {
  const found = new Map<string, string[]>();
  for (const { type, known, body, device } of timeline.entries) {
    if (type !== "lines.confirmed" || !known || !body) continue;
    const { lines, by } = body as unknown as LinesConfirmed;
    for (const line of lines) {
      const key = `${device} ${line}`;
      found.set(key, [...new Set([...(found.get(key) ?? []), by])]);
    }
  }
  return found;
}

/** What an amendment changed, told in the same words as the line itself. */
function changesOf(first: TimelineEntry, amendment: LineAmended, names: Names): Change[] {
  if (amendment.body === null) return [];
  const was = tell(first.type, first.known, first.body, names);
  const now = tell(first.type, first.known, amendment.body, names);
  const changes: Change[] =
    was.title === now.title ? [] : [{ label: "What", was: was.title, now: now.title }];
  const labels = new Set([...was.rows, ...now.rows].map(([label]) => label));
  const value = (rows: Row[], label: string) => rows.find(([l]) => l === label)?.[1] ?? "nothing";
  for (const label of labels) {
    const [a, b] = [value(was.rows, label), value(now.rows, label)];
    if (a !== b) changes.push({ label, was: a, now: b });
  }
  return changes;
}

function besideOf(entry: TimelineEntry, names: Names): Beat["beside"] {
  if (entry.type !== "pose.found" || !entry.body) return [];
  const found = entry.body as unknown as BodyOf["pose.found"];
  const advice = entry.advice as unknown as BodyOf["pose.advised"] | null;
  const advised = new Map(advice ? advisedRows(advice, names) : []);
  const computed = advice !== null && advice.yaw_deg !== null;
  const as = (label: string): string => advised.get(label) ?? "—";
  const rows: Beat["beside"] = [];
  if (!computed) {
    rows.push([
      "Advice",
      advice ? (advised.get("Advice") ?? "—") : "No advice is on record for this pose.",
      "—",
    ]);
  }
  rows.push(
    ["Turn of the face", as("Turn of the face"), turnAsFound(found, advice)],
    ["Chin", as("Chin"), chinAsFound(found, advice)],
    ["Working distance", as("Working distance"), "not recorded"],
    ["Least gap", as("Least gap"), found.touched ? "0 mm: it touched" : "not recorded"],
    ["Nearest", as("Nearest"), found.nearest ? names.choice("nearest", found.nearest) : "not said"],
    ["Closeness", as("Closeness"), found.touched ? "touched" : "did not touch"],
  );
  return rows;
}

export function outcomeWords(found: BodyOf["pose.found"]): string {
  const by = found.by_deg === null || found.by_deg === undefined ? "" : `, by ${deg(found.by_deg)}`;
  switch (found.outcome) {
    case "as_advised":
      return "as advised";
    case "more":
      return `more than advised${by}`;
    case "less":
      return `less than advised${by}`;
    case "not_reached":
      return "position not reached";
  }
}

/** As the photographer said; else from the advice and "by how much", and never a figure that nobody gave. */
function turnAsFound(found: BodyOf["pose.found"], advice: BodyOf["pose.advised"] | null): string {
  if (found.yaw_deg !== null && found.yaw_deg !== undefined) {
    return `${turnWords(found.yaw_deg, found.eye)} (${outcomeWords(found)})`;
  }
  if (found.outcome === "as_advised" && advice && advice.yaw_deg !== null) return "as advised";
  return outcomeWords(found);
}

function chinAsFound(found: BodyOf["pose.found"], advice: BodyOf["pose.advised"] | null): string {
  if (found.pitch_deg !== null && found.pitch_deg !== undefined) return chinWords(found.pitch_deg);
  return found.outcome === "as_advised" && advice && advice.yaw_deg !== null ? "as advised" : "not recorded";
}
