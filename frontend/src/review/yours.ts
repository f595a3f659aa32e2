/** What the site of whoever is signed in limits, as the pages say it. The server decides; here are only its words. */

import type { SiteRow } from "../types.gen";
import { person } from "./api";

export interface Choice {
  id: string;
  text: string;
}

/** The name of the one site whose things they see; null where they see all. */
export const ownSite = (): string | null => person.value?.site_name ?? null;

/** Where everything that is shown comes from, when nobody picked a site. */
export const everySite = (own: string | null): string => own ?? "all sites";

/** What a filter by site offers. Who sees one site has nothing to pick; what an address asks for (`value`) is shown all
 * the same. */
export function siteChoices(sites: readonly SiteRow[], value: string, own: string | null): Choice[] {
  const named = sites.map((site) => ({ id: site.id, text: site.name }));
  if (own === null) return [{ id: "", text: "All sites" }, ...named];
  const asked = value === "" ? [] : [named.find((one) => one.id === value) ?? { id: value, text: value }];
  return [{ id: "", text: `${own}, all that you see` }, ...asked];
}

/** Why something is closed to somebody with a site, whatever their role. */
export const wholeHouse = (what: string, whose: string): string =>
  `${what} about every site, and needs ${whose} whose account has no site.`;
