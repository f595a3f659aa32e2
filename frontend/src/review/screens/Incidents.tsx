import { useMemo } from "preact/hooks";
import type { IncidentList, Person } from "../../types.gen";
import { useAsked } from "../asked";
import { type Filters, filtersFrom, isFiltered, NO_FILTERS, paramsOf, questionOf } from "../filters";
import { usePackForNames } from "../newest";
import { IncidentFilters } from "../parts/IncidentFilters";
import { IncidentTable } from "../parts/IncidentTable";
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
  const path = `/api/incidents?${questionOf(filters)}`;
  const { answer, value, again } = useAsked<IncidentList>(path);
  const names = usePackForNames();
  return (
    <div class="stack">
      <div class="row-ends">
        <h1>Incidents and near misses</h1>
        <p class="quiet t-small" role="status">
          {value ? counted(value, filters) : ""}
          {answer === null && value ? " Asking again …" : ""}
        </p>
      </div>
      <IncidentFilters filters={filters} names={names} rows={value?.rows ?? []} onChange={goTo} />
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="the incidents"
        again={again}
      />
      {value && value.rows.length > 0 && <IncidentTable rows={value.rows} names={names} person={person} />}
      {value && value.rows.length === 0 && <Nothing filters={filters} />}
      {value && (
        <p class="quiet t-small">
          Times are the devices' own clocks, shown in {timeZone()}. Newest first. Counted at log position{" "}
          <span class="number">{value.position}</span>; a device that has not been heard since may hold more.
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
