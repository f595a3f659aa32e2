/** Names for lists that span packs: out of the pack that was received last. */

import type { Choice, Pack, PackRow, SiteRow } from "../types.gen";
import { useAsked } from "./asked";
import { type Names, namesFrom, packOf } from "./names";

export interface PackNames extends Names {
  sites: SiteRow[];
  whats: Choice[];
  /** A clock that differs by at least this much is pointed out. */
  clockWarn_ms: number;
}

export function usePackForNames(): PackNames {
  const { value } = useAsked<PackRow[]>("/api/packs");
  const newest = [...(value ?? [])].sort((a, b) => b.received_at - a.received_at)[0];
  const pack: Pack | null = packOf(newest?.sha256 ?? null);
  const names = namesFrom(pack);
  const sites = useAsked<SiteRow[]>("/api/sites").value ?? [];
  return {
    ...names,
    site: (id) => sites.find((s) => s.id === id)?.name ?? names.site(id),
    sites,
    whats: pack?.choices.safety_what ?? [],
    clockWarn_ms: pack?.thresholds.clock_warn_ms ?? 120_000,
  };
}
