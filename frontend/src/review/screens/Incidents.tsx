import { useEffect, useMemo, useState } from "preact/hooks";
import type { IncidentList, Person } from "../../types.gen";
import { Button } from "../../ui";
import { useAsked } from "../asked";
import {
  type Filters,
  filterQuery,
  filtersFrom,
  isFiltered,
  NO_FILTERS,
  PAGE_ROWS,
  paramsOf,
  questionOf,
} from "../filters";
import { showKeys } from "../keys/Keys";
import { rememberList } from "../lastlist";
import { useChanges } from "../live";
import { usePackForNames } from "../newest";
import { IncidentFilters } from "../parts/IncidentFilters";
import { IncidentTable } from "../parts/IncidentTable";
import { Queue } from "../parts/Queue";
import { SavedViews } from "../parts/SavedViews";
import { Empty, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { timeZone } from "../when";

/** The address changes with the filters; typing replaces it, so that Back leaves the list in one step. */
function goTo(filters: Filters, replace: boolean): void {
  const href = hrefOf("incidents", null, paramsOf(filters));
  if (replace) location.replace(href);
  else location.hash = href;
}

export function IncidentsScreen({ params, person }: { params: URLSearchParams; person: Person }) {
  const query = params.toString();
  const filters = useMemo(() => filtersFrom(new URLSearchParams(query)), [query]);
  useEffect(() => rememberList(query), [query]);
  const { answer, value, again } = useAsked<IncidentList>(`/api/incidents?${questionOf(filters)}`, 0, {
    changes: useChanges("lines", "reviews"),
  });
  const [round, setRound] = useState(0);
  const names = usePackForNames();
  const askAgain = () => {
    again();
    setRound((n) => n + 1);
  };
  return (
    <div class="stack">
      <div class="row-ends">
        <h1>Incidents and near misses</h1>
        <p class="quiet t-small" role="status">
          {value ? counted(value, filters) : ""}
          {answer === null && value ? " Asking again …" : ""}
        </p>
      </div>
      <Queue filters={filters} round={round} />
      <IncidentFilters filters={filters} names={names} rows={value?.rows ?? []} onChange={goTo} />
      <SavedViews person={person.id} filters={filters} />
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="the incidents"
        again={askAgain}
      />
      {value && value.rows.length > 0 && <IncidentTable rows={value.rows} names={names} person={person} />}
      {value && value.rows.length === 0 && <Nothing filters={filters} />}
      {value && <Pages filters={filters} total={value.total} />}
      {value && <TakeOut filters={filters} total={value.total} person={person} again={askAgain} />}
      {value && (
        <p class="quiet t-small">
          Times are the devices' own clocks, shown in {timeZone()}; the days of “From” and “To” are days of
          UTC. Newest first. Counted at log position <span class="number">{value.position}</span>; a device
          that has not been heard since may hold more.
        </p>
      )}
    </div>
  );
}

function counted(list: IncidentList, filters: Filters): string {
  const shown = list.rows.length;
  const all = list.total > shown ? ` of ${list.total}` : "";
  return `${shown}${all} ${shown === 1 && !all ? "entry" : "entries"}${isFiltered(filters) ? ", filtered" : ""}.`;
}

function Pages({ filters, total }: { filters: Filters; total: number }) {
  const last = Math.max(1, Math.ceil(total / PAGE_ROWS));
  if (last === 1 && filters.page === 1) return null;
  const to = (page: number) => hrefOf("incidents", null, paramsOf({ ...filters, page }));
  return (
    <nav aria-label="Pages of the list" class="desk-pages">
      {filters.page > 1 && <a href={to(Math.min(filters.page - 1, last))}>Newer</a>}
      <span class="number">
        Page {filters.page} of {last}
      </span>
      {filters.page < last && <a href={to(filters.page + 1)}>Older</a>}
    </nav>
  );
}

function TakeOut({
  filters,
  total,
  person,
  again,
}: {
  filters: Filters;
  total: number;
  person: Person;
  again: () => void;
}) {
  const query = filterQuery(filters);
  return (
    <div class="desk-out">
      <p>
        Take out what this filter finds ({total}):{" "}
        <a href={`/api/export/incidents.csv?${query}`} download>
          CSV
        </a>
        ,{" "}
        <a href={`/api/export/incidents.fhir.json?${query}`} download>
          HL7 FHIR R4
        </a>
        . <span class="quiet">That it was taken out is logged.</span>
      </p>
      <p>
        {person.role === "lead" && person.site === null ? (
          <>
            Take out{" "}
            <a href="/api/export/lines" download>
              every line of the log
            </a>
            , sealed. “chinrest verify” checks it without a server.
          </>
        ) : (
          <span class="quiet">
            Every line of the log, with its chain and the server's seal, is a lead's to take out whose account
            has no site: it holds every case of every site whole.
          </span>
        )}
      </p>
      <p class="desk-out-buttons">
        <Button onClick={again}>Ask again</Button>
        <Button onClick={() => window.print()}>Print this list</Button>
        <Button onClick={showKeys}>Keys</Button>
      </p>
    </div>
  );
}

function Nothing({ filters }: { filters: Filters }) {
  if (isFiltered(filters)) {
    return (
      <Empty title="Nothing matches these filters">
        <a href={hrefOf("incidents", null, paramsOf(NO_FILTERS))}>Clear the filters</a> to see all entries.
      </Empty>
    );
  }
  return (
    <Empty title="No incident or near miss has reached the server">
      Phones that were not heard may still hold some: see when each was last heard under{" "}
      <a href={hrefOf("devices")}>Devices</a>.
    </Empty>
  );
}
