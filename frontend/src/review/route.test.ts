import { describe, expect, it } from "vitest";
import { filtersFrom, isFiltered, NO_FILTERS, paramsOf, questionOf } from "./filters";
import { hrefOf, parseRoute } from "./route";

describe("addresses", () => {
  it("come back as they went", () => {
    const href = hrefOf("case", "a b/ü", new URLSearchParams({ line: "x&y" }));
    const route = parseRoute(href);
    expect([route.page, route.id, route.params.get("line")]).toEqual(["case", "a b/ü", "x&y"]);
  });

  it.each(["", "#", "#/", "#/nowhere", "#/case", "#/case/"])("%s is the list of incidents", (hash) => {
    expect(parseRoute(hash).page).toBe("incidents");
  });

  it("survives an id that is not well encoded", () => {
    expect(parseRoute("#/case/%E0%A4%A").page).toBe("incidents");
  });
});

describe("filters", () => {
  const full = {
    site: "north",
    kind: "near_miss",
    what: "faint",
    harm: "mild",
    review: "actions_open",
    overdue: true,
    since: "2026-01-01",
    until: "2026-01-31",
    practice: true,
    q: "A 7",
    page: 3,
  } as const;

  it("come back out of the address as they went in", () => {
    expect(filtersFrom(paramsOf(full))).toEqual(full);
    expect(paramsOf(NO_FILTERS).toString()).toBe("");
  });

  it("leave practice out unless it is asked for", () => {
    expect(questionOf(NO_FILTERS).get("practice")).toBe("0");
    expect(questionOf(full).has("practice")).toBe(false);
  });

  it("know whether anything narrows the list; showing practice widens it", () => {
    expect(isFiltered({ ...NO_FILTERS, practice: true })).toBe(false);
    expect(isFiltered({ ...NO_FILTERS, q: "x" })).toBe(true);
  });

  it("drop a kind that there is not", () => {
    expect(filtersFrom(new URLSearchParams("kind=odd")).kind).toBe("");
  });
});
