import { useEffect, useRef, useState } from "preact/hooks";
import type { IncidentRow } from "../../types.gen";
import { TextField } from "../../ui";
import { type Filters, filtersFrom, isFiltered, NO_FILTERS, paramsOf } from "../filters";
import type { PackNames } from "../newest";
import { hrefOf, parseRoute } from "../route";
import { HARM_HEADING, HARMS, plain, sentence } from "../words";
import { Select } from "./Select";

const TYPING_MS = 250;

export function IncidentFilters({
  filters,
  names,
  rows,
  onChange,
}: {
  filters: Filters;
  names: PackNames;
  rows: IncidentRow[];
  onChange: (filters: Filters, replace: boolean) => void;
}) {
  const [typed, setTyped] = useState(filters.q);
  const sent = useRef(filters.q);
  useEffect(() => {
    if (filters.q !== sent.current) setTyped(filters.q); // the address was changed by something else
    sent.current = filters.q;
  }, [filters.q]);
  useEffect(() => {
    if (typed.trim() === filters.q) return;
    const timer = setTimeout(() => {
      sent.current = typed.trim();
      onChange({ ...filters, q: typed }, true);
    }, TYPING_MS);
    return () => clearTimeout(timer);
  }, [typed, filters, onChange]);

  // from the address as it stands: the page may not have followed its last change yet
  const set = (change: Partial<Filters>) =>
    onChange({ ...filtersFrom(parseRoute(location.hash).params), ...change }, false);
  const sites = names.sites.length
    ? names.sites.map((s) => ({ id: s.id, text: s.name }))
    : [...new Map(rows.map((r) => [r.site, r.site_name]))].map(([id, text]) => ({ id, text }));
  const whats = names.whats.length
    ? names.whats.map((w) => ({ id: w.id, text: w.text }))
    : [...new Set(rows.map((r) => r.what))].map((id) => ({ id, text: sentence(plain(id)) }));
  return (
    <form class="desk-filters" aria-label="Filter incidents" onSubmit={(e) => e.preventDefault()}>
      <TextField label="Search" value={typed} onText={setTyped} />
      <Select
        label="Site"
        value={filters.site}
        options={[{ id: "", text: "All sites" }, ...sites]}
        onPick={(site) => set({ site })}
      />
      <Select
        label="Kind"
        value={filters.kind}
        options={[
          { id: "", text: "All kinds" },
          { id: "event", text: "Events" },
          { id: "near_miss", text: "Near misses" },
        ]}
        onPick={(kind) => set({ kind: kind as Filters["kind"] })}
      />
      <Select
        label="What"
        value={filters.what}
        options={[{ id: "", text: "Anything" }, ...whats]}
        onPick={(what) => set({ what })}
      />
      <Select
        label={HARM_HEADING}
        value={filters.harm}
        options={[{ id: "", text: "Any" }, ...HARMS.map((h) => ({ id: h, text: sentence(h) }))]}
        onPick={(harm) => set({ harm })}
      />
      <label class="desk-check">
        <input
          type="checkbox"
          checked={filters.practice}
          onChange={(event) => set({ practice: event.currentTarget.checked })}
        />
        <span>Show practice cases</span>
      </label>
      {isFiltered(filters) && (
        <a class="desk-clear" href={hrefOf("incidents", null, paramsOf(NO_FILTERS))}>
          Clear the filters
        </a>
      )}
    </form>
  );
}
