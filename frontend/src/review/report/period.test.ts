import { describe, expect, it } from "vitest";
import type { ReportedIncident } from "../../types.gen";
import { periodFrom, periodParams, summary } from "./period";

const NOW = Date.UTC(2026, 10, 25, 12);
type Deep = { row?: object; review?: object };
const one = ({ row = {}, review = {} }: Deep = {}): ReportedIncident =>
  ({
    row: { withdrawn: false, near_miss: false, harm: null, ...row },
    review: { state: "new", judged: null, actions: [], ...review },
  }) as unknown as ReportedIncident;
const count = (rows: ReportedIncident[], title: string, word: string) =>
  summary(rows)
    .find((part) => part.title === title)
    ?.entries.find(([name]) => name === word)?.[1];

describe("the days of a report", () => {
  it("are the last thirty and today where the address says nothing that can be read", () => {
    const period = periodFrom(new URLSearchParams("since=soon"), NOW);
    expect(period).toEqual({ since: "2026-10-26", until: "2026-11-25", site: "" });
  });

  it("come back out of the address", () => {
    const period = { since: "2026-01-01", until: "2026-03-31", site: "north" };
    expect(periodFrom(periodParams(period), NOW)).toEqual(period);
  });
});

describe("what it counts", () => {
  const judged = { classified: { harm: "mild", preventable: null } };
  const rows = [
    one({ row: { near_miss: true } }),
    one({ row: { harm: "severe" }, review: { state: "actions_open", judged, actions: [{ state: "open" }] } }),
    one({ row: { withdrawn: true, harm: "death" } }),
  ];

  it("leaves out what was taken back, and says how many", () => {
    expect(count(rows, "Kind", "events")).toBe(1);
    expect(count(rows, "Kind", "near misses")).toBe(1);
    expect(count(rows, "Kind", "taken back, not counted")).toBe(1);
    expect(count(rows, "Harm, as reported", "death")).toBe(0);
  });

  it("keeps the reporter's harm and the desk's apart", () => {
    expect(count(rows, "Harm, as reported", "severe")).toBe(1);
    expect(count(rows, "Harm, as the desk sees it", "severe")).toBe(0);
    expect(count(rows, "Harm, as the desk sees it", "mild")).toBe(1);
    expect(count(rows, "Harm, as the desk sees it", "not classified yet")).toBe(1);
    expect(count(rows, "Review", "actions open")).toBe(1);
    expect(count(rows, "Actions", "open")).toBe(1);
  });
});
