/** Names for lists that span packs: out of the pack that was received last. */

import type { Choice, Pack, PackRow, SiteRow } from "../types.gen";
import { useAsked } from "./asked";
import { type Names, namesFrom, packAnswered, packOf } from "./names";

export interface PackNames extends Names {
  sites: SiteRow[];
  whats: Choice[];
  /** A clock that differs by at least this much is pointed out. */
  clockWarn_ms: number;
  /** The names have come, or will not: nothing that is picked from changes any more. */
  settled: boolean;
}

export function usePackForNames(): PackNames {
  const { answer, value } = useAsked<PackRow[]>("/api/packs");
  const newest = [...(value ?? [])].sort((a, b) => b.received_at - a.received_at)[0];
  const pack: Pack | null = packOf(newest?.sha256 ?? null);
  const names = namesFrom(pack);
  const askedSites = useAsked<SiteRow[]>("/api/sites");
  const sites = askedSites.value ?? [];
  const named = answer !== null && (newest === undefined || packAnswered(newest.sha256));
  return {
    ...names,
    site: (id) => sites.find((s) => s.id === id)?.name ?? names.site(id),
    sites,
    whats: pack?.choices.safety_what ?? [],
    clockWarn_ms: pack?.thresholds.clock_warn_ms ?? 120_000,
    settled: named && askedSites.answer !== null,
  };
}
