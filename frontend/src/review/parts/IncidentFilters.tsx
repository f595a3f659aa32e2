import { useEffect, useRef, useState } from "preact/hooks";
import type { IncidentRow } from "../../types.gen";
import { TextField } from "../../ui";
import { type Filters, filtersFrom, isFiltered, NO_FILTERS, paramsOf } from "../filters";
import type { PackNames } from "../newest";
import { hrefOf, parseRoute } from "../route";
import { HARM_HEADING, HARMS, plain, sentence } from "../words";
import { ownSite, siteChoices } from "../yours";
import { DayField } from "./DayField";
import { Select } from "./Select";

const TYPING_MS = 250;
/** A reaction is an incident of its own until a safety event tells of it; it is no pack's choice. */
const REACTION = { id: "reaction", text: "Reaction" };

/** From the address as it stands: the page may not have followed its last change yet. */
const inAddress = (): Filters => filtersFrom(parseRoute(location.hash).params);

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
  const [typed, setTyped] = useTyped(filters.q, onChange);
  const { sites, whats } = useOptions(names, rows);
  const own = ownSite();
  const set = (change: Partial<Filters>) => onChange({ ...inAddress(), page: 1, ...change }, false);
  return (
    <form class="desk-filters" aria-label="Filter incidents" onSubmit={(e) => e.preventDefault()}>
      <TextField label="Search" value={typed} onText={setTyped} />
      <Select
        label="Site"
        value={filters.site}
        disabled={!names.settled}
        options={
          own === null
            ? [{ id: "", text: "All sites" }, ...sites]
            : siteChoices(names.sites, filters.site, own)
        }
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
        disabled={!names.settled}
        options={[{ id: "", text: "Anything" }, ...whats]}
        onPick={(what) => set({ what })}
      />
      <Select
        label={HARM_HEADING}
        value={filters.harm}
        options={[{ id: "", text: "Any" }, ...HARMS.map((h) => ({ id: h, text: sentence(h) }))]}
        onPick={(harm) => set({ harm })}
      />
      <DayField label="From" value={filters.since} onDay={(since) => set({ since })} />
      <DayField label="To" value={filters.until} onDay={(until) => set({ until })} />
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

/** What is typed goes to the address a moment later; what comes out of the address is shown, but never over typing. */
function useTyped(q: string, onChange: (filters: Filters, replace: boolean) => void) {
  const [typed, setTyped] = useState(q);
  const sent = useRef(q);
  useEffect(() => {
    if (q !== sent.current) setTyped(q); // the address was changed by something else
    sent.current = q;
  }, [q]);
  useEffect(() => {
    if (typed.trim() === q) return;
    const timer = setTimeout(() => {
      sent.current = typed.trim();
      onChange({ ...inAddress(), q: typed, page: 1 }, true);
    }, TYPING_MS);
    return () => clearTimeout(timer);
  }, [typed, q, onChange]);
  return [typed, setTyped] as const;
}

/** What can be picked only ever grows while the page is open: no option goes from under the hand. */
function useOptions(names: PackNames, rows: IncidentRow[]) {
  const seen = useRef({ sites: new Map<string, string>(), whats: new Map<string, string>() });
  for (const row of rows) {
    seen.current.sites.set(row.site, row.site_name);
    seen.current.whats.set(row.what, sentence(plain(row.what)));
  }
  const grown = (known: { id: string; text: string }[], more: Map<string, string>) => [
    ...known,
    ...[...more].filter(([id]) => !known.some((one) => one.id === id)).map(([id, text]) => ({ id, text })),
  ];
  return {
    sites: grown(
      names.sites.map((site) => ({ id: site.id, text: site.name })),
      seen.current.sites,
    ),
    whats: grown(
      [...names.whats.map((what) => ({ id: what.id, text: what.text })), REACTION],
      seen.current.whats,
    ),
  };
}
