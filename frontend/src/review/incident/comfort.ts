/** Comfort over the course of a case: what the small picture shows, and its table. */

import type { Timeline } from "../../types.gen";
import { standingOf } from "../standing";

export interface ComfortPoint {
  line: string;
  at: number;
  /** Minutes since the case's first line. */
  minutes: number;
  /** 0 comfortable to 10 as bad as can be. */
  score: number;
  bothers: string[];
}

export interface ComfortCurve {
  points: ComfortPoint[];
  /** Safety events and reactions, in minutes since the first line. */
  marks: { line: string; minutes: number }[];
  /** Minutes from the first line to the last that a phone wrote. */
  span: number;
}

const MINUTE_MS = 60_000;

export function comfortCurve(timeline: Timeline): ComfortCurve {
  const start = timeline.entries[0]?.at ?? 0;
  const minutes = (at: number) => (at - start) / MINUTE_MS;
  const points = standingOf(timeline, "comfort.noted").map(({ entry, body }) => ({
    line: entry.id,
    at: entry.at,
    minutes: minutes(entry.at),
    score: body.score,
    bothers: body.bothers,
  }));
  const marks = [...standingOf(timeline, "safety.noted"), ...standingOf(timeline, "reaction.started")]
    .map(({ entry }) => ({ line: entry.id, minutes: minutes(entry.at) }))
    .sort((a, b) => a.minutes - b.minutes);
  const shown = [...points, ...marks].map((one) => one.minutes);
  return { points, marks, span: Math.max(1, ...shown) };
}
