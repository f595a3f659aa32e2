import { describe, expect, it } from "vitest";
import type { Rate, RateReport } from "../../types.gen";
import { parseRoute } from "../route";
import { chartsFrom, chartsParams, ratesFrom, ratesParams } from "./address";
import { csv, RATE_COLUMNS, ratesCsv } from "./csv";
import {
  chance,
  interval,
  monthWords,
  percent,
  periodWords,
  perThousand,
  signed,
  significant,
} from "./figures";
import { across, apart, placeTicks, ticks, upward } from "./plot/scales";
import { runsWords } from "./runs";

const rate = (events: number, procedures: number): Rate => ({
  events,
  procedures,
  per_1000: (1000 * events) / procedures,
  exact95: [1.5, 20.25],
  wilson95: [2, 19],
  poisson95: [1, 21],
  rule_of_three: events === 0 ? 3000 / procedures : null,
  upper95_one_sided: events === 0 ? 2990 / procedures : null,
  small_number: events === 0 ? ["No event was seen."] : [],
});

describe("the address of a rate", () => {
  it("comes back as it went", () => {
    const view = {
      of: "touch",
      by: "site",
      scale: "",
      first: "2026-01",
      last: "2026-03",
      site: "harbour",
    } as const;
    expect(ratesFrom(ratesParams(view))).toEqual(view);
    const classed = { ...view, of: "reaction_oral", by: "class", scale: "brown" } as const;
    expect(ratesFrom(ratesParams(classed))).toEqual(classed);
    const charts = {
      of: "event",
      first: "",
      last: "2026-03",
      site: "",
      rateIn: "10",
      rateOut: "20.5",
      threshold: "4",
    } as const;
    expect(chartsFrom(chartsParams(charts))).toEqual(charts);
  });

  it("is split by what that rate can be split by, whatever it says", () => {
    expect(ratesFrom(new URLSearchParams("of=touch&by=dye")).by).toBe("optic");
    expect(ratesFrom(new URLSearchParams("of=luck"))).toMatchObject({ of: "reaction", by: "dye" });
  });

  it("drops what is no month", () => {
    const { first, last } = ratesFrom(new URLSearchParams("first=2026-13&last=soon"));
    expect([first, last]).toEqual(["", ""]);
  });

  it.each(["rates", "charts", "craft", "summary"])("#/%s is a page", (page) => {
    expect(parseRoute(`#/${page}?of=touch`).page).toBe(page);
  });
});

describe("figures", () => {
  it("carry no more digits than their counts", () => {
    expect(perThousand(rate(3, 271))).toBe("11");
    expect(perThousand(rate(132, 11898))).toBe("11.1");
    expect(perThousand(rate(0, 50))).toBe("none seen");
    expect(interval([0.2345, 123.4], 2)).toBe("0.23 to 123");
  });

  it.each([
    [0, 2, "0"],
    [0.00001234, 2, "0.0000"],
    [1234.5, 3, "1,235"],
    [9.96, 2, "10.0"],
    [0.5, 2, "0.50"],
  ])("%d to %d digits is %s", (value, digits, shown) => {
    expect(significant(value, digits)).toBe(shown);
  });

  it("never call a chance none", () => {
    expect(chance(0.00000001)).toBe("below 0.0001");
    expect(chance(0.042)).toBe("0.042");
    expect(chance(1)).toBe("1.0");
  });

  it("say which way with a true minus", () => {
    expect([signed(1.26, 2), signed(-1.26, 2), signed(0, 2)]).toEqual(["+1.3", "−1.3", "0"]);
    expect(percent(0.0179)).toBe("1.8 %");
  });

  it("name months and periods", () => {
    expect(monthWords("2026-03")).toBe("March 2026");
    expect(monthWords("not known")).toBe("not known");
    expect(periodWords(null, null)).toBe("the whole log");
    expect(periodWords("2026-01", "2026-02")).toBe("January 2026 to February 2026");
    expect(periodWords("2026-01", "2026-01")).toBe("January 2026");
  });
});

describe("the table as CSV", () => {
  it("quotes what needs it, and lets no text become a formula", () => {
    expect(
      csv([
        ['a "b"', "c,d", null, 1.5],
        ["=SUM(A1)", "two\nlines"],
      ]),
    ).toBe('"a ""b""","c,d",,1.5\r\n\'=SUM(A1),"two\nlines"');
  });

  it("has every figure whole, and the total last", () => {
    const none = { key: "b", events: 2, procedures: 0, rate: null, none: "There is no rate." };
    const row = { key: "a", events: 3, procedures: 271, rate: rate(3, 271), none: null };
    const report = { rows: [row, none], total: { ...row, key: "" }, position: 42 } as unknown as RateReport;
    const lines = ratesCsv(report, (key) => key.toUpperCase()).split("\r\n");
    expect(lines).toHaveLength(4);
    for (const line of lines) expect(line.split(",")).toHaveLength(RATE_COLUMNS.length);
    expect(lines[1]).toBe(`a,A,3,271,${3000 / 271},1.5,20.25,2,19,1,21,,,,42`);
    expect(lines[2]).toContain("There is no rate.");
    expect(lines[3]?.startsWith(",all,3,271")).toBe(true);
  });
});

describe("scales", () => {
  it("begin at nought and end above the largest", () => {
    const y = upward(17);
    expect(y.domain()[0]).toBe(0);
    expect(y.domain()[1]).toBeGreaterThan(17);
    expect(y(0)).toBeGreaterThan(y(17)); // up is up
    expect(upward(0).domain()[1]).toBeGreaterThan(0);
  });

  it("have ticks inside their range only", () => {
    for (const { at } of ticks(upward(13), 5)) {
      expect(at).toBeGreaterThanOrEqual(0);
      expect(at).toBeLessThanOrEqual(upward(13).domain()[1] ?? 0);
    }
    expect(across(5, 5).domain()).toEqual([4, 6]);
  });

  it("name every so many places where there are many", () => {
    expect(placeTicks(["a", "b"]).map(({ text }) => text)).toEqual(["a", "b"]);
    expect(placeTicks(Array.from({ length: 60 }, String)).length).toBeLessThanOrEqual(12);
  });

  it("keep the names of lines apart, each nearest to its own", () => {
    expect(apart([100, 102, 50], 16)).toEqual([100, 116, 50]);
  });
});

describe("runs", () => {
  const runs = {
    useful: 12,
    longest_run: 8,
    longest_limit: 7,
    longest_side: "above",
    longest_from: 1,
    longest_to: 8,
    crossings: 2,
    crossings_limit: 3,
    shift: true,
    few_crossings: true,
  } as const;

  it("are told with where, and what chance allows", () => {
    const said = runsWords(runs, (place) => `gap ${place}`);
    expect(said).toContain("8 points above the median, from gap 1 to gap 8");
    expect(said).toContain("a sign of a shift");
    expect(runsWords({ ...runs, shift: false, few_crossings: false }, String)).not.toContain("sign");
    expect(runsWords(null, String)).toContain("too few");
  });
});
