/** Who may open which page. The server refuses the rest as well: this only keeps what is of no use out of the way. */

import type { Role } from "../types.gen";
import type { Page } from "./route";
import { wholeHouse } from "./yours";

export const ROLE_WORDS: Record<Role, string> = {
  photographer: "photographer",
  officer: "safety officer",
  lead: "clinic lead",
  admin: "admin",
};

/** What each role is for, where one is picked. */
export const ROLE_HELP: Record<Role, string> = {
  photographer: "Sees the devices and takes in lines that came by file. Reads no case.",
  officer: "Reads cases, and decides about incidents.",
  lead: "As the officer; enrols and withdraws phones, and approves guidance packs.",
  admin: "Invites people and withdraws them. Reads no case.",
};

export const ROLES = Object.keys(ROLE_WORDS) as Role[];

const EVERYBODY: Page[] = ["devices", "account", "invitation"];
const LEAD: Page[] = ["enrol", "packs", "difference", "fits", "rollout", "drafts", "draft"];
const ADMIN: Page[] = ["people"];
const OVERSEERS: Page[] = ["retention"];
/** Pages about every site, closed to whoever has one: what such a page does, and who may. */
const WHOLE_HOUSE: Partial<Record<Page, [string, string]>> = {
  drafts: ["Editing guidance is", "a lead"],
  draft: ["Editing guidance is", "a lead"],
  retention: ["What is kept and erased is", "somebody"],
};

/** Whose page it is: a role, or a word for several. */
function owner(page: Page): "everybody" | "reviewers" | "lead" | "admin" | "overseers" {
  if (EVERYBODY.includes(page)) return "everybody";
  if (LEAD.includes(page)) return "lead";
  if (OVERSEERS.includes(page)) return "overseers";
  return ADMIN.includes(page) ? "admin" : "reviewers";
}

export const reads = (role: Role): boolean => role === "officer" || role === "lead";

/** Who sees to it that the whole house keeps what it must. */
export const oversees = (role: Role): boolean => reads(role) || role === "admin";

/** Why a page is closed to somebody, in words; null where it is open. */
export function closedTo(page: Page, { role, site }: { role: Role; site: string | null }): string | null {
  const closed = closedToRole(page, role);
  const whole = site === null ? undefined : WHOLE_HOUSE[page];
  return closed === null && whole ? wholeHouse(...whole) : closed;
}

function closedToRole(page: Page, role: Role): string | null {
  switch (owner(page)) {
    case "everybody":
      return null;
    case "lead":
      return role === "lead" ? null : "This page is for the clinic's lead.";
    case "admin":
      return role === "admin" ? null : "This page is for admins.";
    case "overseers":
      return oversees(role) ? null : "This page is for the safety officer, the clinic's lead and admins.";
    case "reviewers":
      return reads(role) ? null : "This page is for the safety officer and the clinic's lead.";
  }
}

/** Where the desk opens, and where an address leads that names nothing: the list of incidents, for who may read it. */
export function landing(page: Page, role: Role): Page {
  if (page !== "incidents" || reads(role)) return page;
  return role === "admin" ? "people" : "devices";
}
