import { describe, expect, it } from "vitest";
import { closedTo, landing, ROLES, reads } from "./roles";
import { PAGES } from "./route";

describe("who may open which page", () => {
  it.each(ROLES)("%s lands on a page that is open", (role) => {
    expect(closedTo(landing("incidents", role), role)).toBeNull();
  });

  it("cases are read by those alone who decide about incidents", () => {
    expect(ROLES.filter(reads)).toEqual(["officer", "lead"]);
    for (const page of ["incidents", "incident", "case", "rates", "report"] as const) {
      expect(ROLES.filter((role) => closedTo(page, role) === null)).toEqual(["officer", "lead"]);
    }
  });

  it("people are the admin's, packs the lead's, one's own account everybody's", () => {
    expect(ROLES.filter((role) => closedTo("people", role) === null)).toEqual(["admin"]);
    expect(ROLES.filter((role) => closedTo("packs", role) === null)).toEqual(["lead"]);
    expect(ROLES.filter((role) => closedTo("account", role) === null)).toEqual(ROLES);
  });

  it("how long things are kept is seen by all who answer for it", () => {
    expect(ROLES.filter((role) => closedTo("retention", role) === null)).toEqual([
      "officer",
      "lead",
      "admin",
    ]);
  });

  it("every page is somebody's", () => {
    for (const page of PAGES) expect(ROLES.some((role) => closedTo(page, role) === null)).toBe(true);
  });
});
