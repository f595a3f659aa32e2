import { describe, expect, it } from "vitest";
import { everySite, siteChoices } from "./yours";

const SITES = [
  { id: "harbour", name: "Harbour" },
  { id: "lighthouse", name: "Lighthouse" },
];

describe("a filter by site", () => {
  it("offers every site to whoever sees all", () => {
    expect(siteChoices(SITES, "", null).map((one) => one.text)).toEqual([
      "All sites",
      "Harbour",
      "Lighthouse",
    ]);
    expect(everySite(null)).toBe("all sites");
  });

  it("says which one it is where one is seen, and offers no other", () => {
    const own = SITES.slice(0, 1);
    expect(siteChoices(own, "", "Harbour")).toEqual([{ id: "", text: "Harbour, all that you see" }]);
    expect(everySite("Harbour")).toBe("Harbour");
  });

  it("shows what an address asks for, seen or not: the server answers it in words", () => {
    const own = SITES.slice(0, 1);
    expect(siteChoices(own, "harbour", "Harbour")[1]).toEqual({ id: "harbour", text: "Harbour" });
    expect(siteChoices(own, "lighthouse", "Harbour")[1]).toEqual({ id: "lighthouse", text: "lighthouse" });
  });
});
