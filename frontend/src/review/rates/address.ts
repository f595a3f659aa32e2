/** What the pages of rates, charts and craft are asked for: all of it stands in the address. */

import type { RateReport } from "../../types.gen";

export type RateOf = RateReport["of"];
export type RateBy = RateReport["by"];

export const RATES: Record<RateOf, string> = {
  reaction: "Reactions to the dye",
  reaction_oral: "Reactions to dye that was drunk",
  touch: "Touches by an optic",
  event: "Safety events",
  near_miss: "Near misses",
};

/** What each rate can be split by; the first is what it is split by until something else is asked for. */
export const SPLITS: Record<RateOf, RateBy[]> = {
  reaction: ["dye", "class", "harm", "desk_harm", "site", "month", "none"],
  reaction_oral: ["dye", "class", "harm", "desk_harm", "site", "month", "none"],
  touch: ["optic", "site", "month", "none"],
  event: ["what", "harm", "desk_harm", "site", "month", "none"],
  near_miss: ["what", "site", "month", "none"],
};

export const SPLIT_WORDS: Record<RateBy, string> = {
  none: "nothing: the total alone",
  dye: "dye",
  class: "class of the reaction, on a named scale",
  optic: "optic",
  what: "what happened",
  site: "site",
  month: "month",
  harm: "harm as reported (WHO degree)",
  desk_harm: "harm as the desk judged it (WHO degree)",
};

export interface Period {
  /** Months as YYYY-MM, both within; empty for no bound. */
  first: string;
  last: string;
  site: string;
}

export interface RateView extends Period {
  of: RateOf;
  by: RateBy;
  /** By which reactions are classed; empty for the first of the pack. */
  scale: string;
}

export interface ChartView extends Period {
  of: RateOf;
  /** As typed, per 1,000; empty where not given. */
  rateIn: string;
  rateOut: string;
  threshold: string;
}

export const THRESHOLD = "3.5";
const MONTH = /^\d{4}-(0[1-9]|1[0-2])$/;

const rateOf = (text: string | null): RateOf =>
  (Object.keys(RATES) as RateOf[]).find((of) => of === text) ?? "reaction";

/** A month, or nothing where it is none. */
export const monthOf = (text: string | null): string => (text && MONTH.test(text) ? text : "");

export function periodFrom(params: URLSearchParams): Period {
  return {
    first: monthOf(params.get("first")),
    last: monthOf(params.get("last")),
    site: params.get("site") ?? "",
  };
}

export function periodParams(period: Period, params = new URLSearchParams()): URLSearchParams {
  for (const name of ["first", "last", "site"] as const) if (period[name]) params.set(name, period[name]);
  return params;
}

export function ratesFrom(params: URLSearchParams): RateView {
  const of = rateOf(params.get("of"));
  const by = SPLITS[of].find((split) => split === params.get("by")) ?? (SPLITS[of][0] as RateBy);
  return { of, by, scale: by === "class" ? (params.get("scale") ?? "") : "", ...periodFrom(params) };
}

export function ratesParams({ of, by, scale, ...period }: RateView): URLSearchParams {
  const params = periodParams(period, new URLSearchParams({ of, by }));
  if (by === "class" && scale) params.set("scale", scale);
  return params;
}

export function chartsFrom(params: URLSearchParams): ChartView {
  return {
    of: rateOf(params.get("of")),
    ...periodFrom(params),
    rateIn: params.get("rate_in") ?? "",
    rateOut: params.get("rate_out") ?? "",
    threshold: params.get("threshold") ?? THRESHOLD,
  };
}

export function chartsParams({ of, rateIn, rateOut, threshold, ...period }: ChartView): URLSearchParams {
  const params = periodParams(period, new URLSearchParams({ of }));
  if (rateIn) params.set("rate_in", rateIn);
  if (rateOut) params.set("rate_out", rateOut);
  if (threshold && threshold !== THRESHOLD) params.set("threshold", threshold);
  return params;
}
