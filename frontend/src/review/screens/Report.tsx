import { useMemo } from "preact/hooks";
import type { PeriodReport, ReportedIncident } from "../../types.gen";
import { Button, Tag } from "../../ui";
import { useAsked } from "../asked";
import { type PackNames, usePackForNames } from "../newest";
import { DayField } from "../parts/DayField";
import { Select } from "../parts/Select";
import { Empty, Waiting } from "../parts/states";
import { HarmWord, ReviewTag } from "../parts/tags";
import { type Period, periodFrom, periodParams, summary } from "../report/period";
import { hrefOf } from "../route";
import { PREVENTABLE } from "../tellingReviews";
import { clock, day, dayOf, isOverdue, moment, timeZone } from "../when";
import { HARM_SCALE, kindWords, sentence } from "../words";
import { everySite, ownSite, siteChoices } from "../yours";

/** What happened in a period and what became of it, for a committee: on the screen, and on paper. */
export function ReportScreen({ params }: { params: URLSearchParams }) {
  const query = params.toString();
  const period = useMemo(() => periodFrom(new URLSearchParams(query), Date.now()), [query]);
  const { answer, value, asOf, again } = useAsked<PeriodReport>(`/api/period-report?${periodParams(period)}`);
  const names = usePackForNames();
  const set = (change: Partial<Period>) => {
    location.hash = hrefOf("report", null, periodParams({ ...period, ...change }));
  };
  const out = periodParams(period);
  out.set("practice", "0");
  const where = period.site ? names.site(period.site) : everySite(ownSite());
  return (
    <div class="stack">
      <div>
        <h1>Incidents and near misses of a period</h1>
        <p class="strong">
          {dayOf(period.since)} to {dayOf(period.until)}, {where}
        </p>
      </div>
      <form class="desk-filters" aria-label="Period of the report" onSubmit={(e) => e.preventDefault()}>
        <DayField label="From" value={period.since} onDay={(since) => since && set({ since })} />
        <DayField label="To" value={period.until} onDay={(until) => until && set({ until })} />
        <Select
          label="Site"
          value={period.site}
          disabled={!names.settled}
          options={siteChoices(names.sites, period.site, ownSite())}
          onPick={(site) => set({ site })}
        />
        <Button onClick={() => window.print()}>Print this report</Button>
      </form>
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="the report"
        again={again}
      />
      <p class="desk-out">
        <span>
          Take out this period: <a href={`/api/export/incidents.csv?${out}`}>CSV</a>,{" "}
          <a href={`/api/export/incidents.fhir.json?${out}`}>HL7 FHIR R4</a>.{" "}
          <span class="quiet">That it was taken out is logged.</span>
        </span>
      </p>
      {value && <Report report={value} asOf={asOf} names={names} />}
    </div>
  );
}

function Report({ report, asOf, names }: { report: PeriodReport; asOf: number; names: PackNames }) {
  const { rows } = report;
  const person = (id: string | null) => report.people.find((one) => one.id === id)?.name ?? "somebody";
  return (
    <>
      {report.total > rows.length && (
        <p class="strong">
          Only the newest {rows.length} of {report.total} are in this report: choose a shorter period.
        </p>
      )}
      {rows.length === 0 ? (
        <Empty title="Nothing was noted in this period">
          A device that has not been heard since may hold more: see <a href={hrefOf("devices")}>Devices</a>.
        </Empty>
      ) : (
        <>
          <Summary rows={rows} />
          <List rows={rows} names={names} person={person} />
          <ActionList rows={rows} names={names} />
        </>
      )}
      <p class="quiet t-small">
        Days are days of UTC, by the devices' own clocks; times are shown in {timeZone()}. Practice cases are
        left out; what was taken back is listed, marked, and counted in no total. Counted at log position{" "}
        <span class="number">{report.position}</span>, as of {moment(asOf)}; a device that has not been heard
        since may hold more. Degrees of harm: {HARM_SCALE}.
      </p>
    </>
  );
}

function Summary({ rows }: { rows: ReportedIncident[] }) {
  const counted = summary(rows);
  return (
    <section class="desk-part" aria-label="In numbers">
      <h2>In numbers</h2>
      <div class="desk-summaries">
        {counted.map(({ title, entries }) => (
          <table key={title} class="desk-beside">
            <caption>{title}</caption>
            <tbody>
              {entries.map(([word, count]) => (
                <tr key={word}>
                  <th scope="row">{sentence(word)}</th>
                  <td class="number">{count}</td>
                </tr>
              ))}
            </tbody>
          </table>
        ))}
      </div>
    </section>
  );
}

function List({
  rows,
  names,
  person,
}: {
  rows: ReportedIncident[];
  names: PackNames;
  person: (id: string | null) => string;
}) {
  return (
    <section class="desk-part" aria-label="Incidents">
      <h2>Incidents, in the order of time</h2>
      <table class="desk-report">
        <thead>
          <tr>
            <th scope="col">When, where</th>
            <th scope="col">What</th>
            <th scope="col">As reported</th>
            <th scope="col">As the desk sees it</th>
            <th scope="col">Review</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ row, review }) => {
            const judged = review.judged?.classified;
            return (
              <tr key={row.line}>
                <td>
                  <span class="number">
                    {day(row.at)} {clock(row.at)}
                  </span>
                  <span class="desk-note">{row.site_name}</span>
                </td>
                <td>
                  <a href={hrefOf("incident", row.line)}>{sentence(names.choice("safety_what", row.what))}</a>
                  {row.optic && <span class="desk-note">{names.optic(row.optic)}</span>}
                  {row.withdrawn && <Tag icon="cross">withdrawn</Tag>}
                </td>
                <td>
                  <HarmWord harm={row.harm} />
                  <span class="desk-note">{sentence(kindWords(row))}</span>
                  {row.note && <span class="desk-note">“{row.note}”</span>}
                </td>
                <td>
                  {judged ? (
                    <>
                      {judged.harm ? <HarmWord harm={judged.harm} /> : "Harm left open"}
                      <span class="desk-note">
                        preventable: {judged.preventable ? PREVENTABLE[judged.preventable] : "left open"}
                      </span>
                      {judged.factors.length > 0 && (
                        <span class="desk-note">{judged.factors.join("; ")}</span>
                      )}
                      {judged.note && <span class="desk-note">{judged.note}</span>}
                    </>
                  ) : (
                    <span class="quiet">not classified yet</span>
                  )}
                </td>
                <td>
                  <ReviewTag state={review.state} late={review.late} />
                  {review.closing?.closed_at && (
                    <span class="desk-note">
                      {person(review.closing.asked_by)} and {person(review.closing.closed_by)},{" "}
                      {day(review.closing.closed_at)}
                    </span>
                  )}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}

function ActionList({ rows, names }: { rows: ReportedIncident[]; names: PackNames }) {
  const actions = rows.flatMap(({ row, review }) => review.actions.map((action) => ({ row, action })));
  return (
    <section class="desk-part" aria-label="Actions">
      <h2>Actions</h2>
      {actions.length === 0 ? (
        <p class="quiet">None were set for these incidents.</p>
      ) : (
        <table class="desk-report">
          <thead>
            <tr>
              <th scope="col">Action</th>
              <th scope="col">For</th>
              <th scope="col">Owner</th>
              <th scope="col">Due</th>
              <th scope="col">State</th>
            </tr>
          </thead>
          <tbody>
            {actions.map(({ row, action }) => (
              <tr key={action.action}>
                <td>{action.text}</td>
                <td>
                  {sentence(names.choice("safety_what", row.what))}, {day(row.at)}
                </td>
                <td>{action.owner}</td>
                <td class="number">{dayOf(action.due)}</td>
                <td>
                  {action.state}
                  {action.state === "open" && isOverdue(action.due) ? ", overdue" : ""}
                  {action.note && <span class="desk-note">{action.note}</span>}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}
