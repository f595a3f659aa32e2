import { describe, expect, it } from "vitest";
import type { Role } from "../types.gen";
import { closedTo, landing, ROLES, reads } from "./roles";
import { PAGES } from "./route";

const at = (role: Role, site: string | null = null) => ({ role, site });

describe("who may open which page", () => {
  it.each(ROLES)("%s lands on a page that is open", (role) => {
    expect(closedTo(landing("incidents", role), at(role))).toBeNull();
  });

  it("cases are read by those alone who decide about incidents", () => {
    expect(ROLES.filter(reads)).toEqual(["officer", "lead"]);
    for (const page of ["incidents", "incident", "case", "rates", "report"] as const) {
      expect(ROLES.filter((role) => closedTo(page, at(role)) === null)).toEqual(["officer", "lead"]);
    }
  });

  it("people are the admin's, packs the lead's, one's own account everybody's", () => {
    expect(ROLES.filter((role) => closedTo("people", at(role)) === null)).toEqual(["admin"]);
    expect(ROLES.filter((role) => closedTo("packs", at(role)) === null)).toEqual(["lead"]);
    expect(ROLES.filter((role) => closedTo("account", at(role)) === null)).toEqual(ROLES);
  });

  it("whoever has a site edits no guidance and erases nothing, and is told why", () => {
    expect(closedTo("drafts", at("lead"))).toBeNull();
    for (const page of ["drafts", "draft"] as const) {
      expect(closedTo(page, at("lead", "harbour"))).toContain("needs a lead whose account has no site");
      expect(closedTo(page, at("officer", "harbour"))).toContain("lead");
    }
    expect(closedTo("retention", at("admin", "harbour"))).toContain(
      "needs somebody whose account has no site",
    );
    const whole = ["drafts", "draft", "retention"];
    for (const page of PAGES.filter((one) => !whole.includes(one))) {
      for (const role of ROLES) {
        expect(closedTo(page, at(role, "harbour"))).toBe(closedTo(page, at(role)));
      }
    }
  });

  it("how long things are kept is seen by all who answer for it", () => {
    expect(ROLES.filter((role) => closedTo("retention", at(role)) === null)).toEqual([
      "officer",
      "lead",
      "admin",
    ]);
  });

  it("every page is somebody's", () => {
    for (const page of PAGES) expect(ROLES.some((role) => closedTo(page, at(role)) === null)).toBe(true);
  });
});
