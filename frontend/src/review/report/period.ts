/** The days of a report, and what it counts. */

import type { ReportedIncident } from "../../types.gen";
import { STATES } from "../filters";
import { HARMS, STATE_WORDS } from "../words";

export interface Period {
  /** ISO days of UTC, both within. */
  since: string;
  until: string;
  site: string;
}

const DAY = /^\d{4}-\d\d-\d\d$/;
const DAYS_MS = 30 * 86_400_000;
const isoDay = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/** As the address says; where it says nothing, the thirty days before today and today. */
export function periodFrom(params: URLSearchParams, now: number): Period {
  const given = (name: string, otherwise: string) => {
    const text = params.get(name) ?? "";
    return DAY.test(text) ? text : otherwise;
  };
  return {
    since: given("since", isoDay(now - DAYS_MS)),
    until: given("until", isoDay(now)),
    site: params.get("site") ?? "",
  };
}

export function periodParams(period: Period): URLSearchParams {
  const params = new URLSearchParams({ since: period.since, until: period.until });
  if (period.site) params.set("site", period.site);
  return params;
}

export interface Counted {
  title: string;
  entries: [word: string, count: number][];
}

/** Of what was not taken back. */
export function summary(all: readonly ReportedIncident[]): Counted[] {
  const rows = all.filter(({ row }) => !row.withdrawn);
  const count = (holds: (one: ReportedIncident) => boolean) => rows.filter(holds).length;
  const actions = rows.flatMap(({ review }) => review.actions);
  const withdrawn = all.length - rows.length;
  return [
    {
      title: "Kind",
      entries: [
        ["events", count(({ row }) => !row.near_miss)],
        ["near misses", count(({ row }) => row.near_miss)],
        ...(withdrawn > 0 ? ([["taken back, not counted", withdrawn]] as [string, number][]) : []),
      ],
    },
    {
      title: "Harm, as reported",
      entries: [
        ...HARMS.map((harm): [string, number] => [harm, count(({ row }) => row.harm === harm)]),
        ["not yet known", count(({ row }) => row.harm === null)],
      ],
    },
    {
      title: "Harm, as the desk sees it",
      entries: [
        ...HARMS.map((harm): [string, number] => [
          harm,
          count(({ review }) => review.judged?.classified.harm === harm),
        ]),
        [
          "left open",
          count(({ review }) => review.judged !== null && review.judged.classified.harm === null),
        ],
        ["not classified yet", count(({ review }) => review.judged === null)],
      ],
    },
    {
      title: "Review",
      entries: STATES.map((state): [string, number] => [
        STATE_WORDS[state],
        count(({ review }) => review.state === state),
      ]),
    },
    {
      title: "Actions",
      entries: (["open", "done", "dropped"] as const).map((state): [string, number] => [
        state,
        actions.filter((action) => action.state === state).length,
      ]),
    },
  ];
}
