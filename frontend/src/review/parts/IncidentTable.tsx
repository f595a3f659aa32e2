import type { IncidentRow, Person } from "../../types.gen";
import { Icon, Tag } from "../../ui";
import { lookedBefore } from "../looked";
import type { Names } from "../names";
import { hrefOf } from "../route";
import { clock, day, dayOf, isOverdue, span } from "../when";
import { HARM_HEADING, kindWords, reachedWords, sentence } from "../words";
import { Cell } from "./Cell";
import { HarmWord, ReviewTag } from "./tags";

const LATE_MS = 86_400_000; // a day: a link that comes back once a week is late, a queue of an hour is not

export function IncidentTable({
  rows,
  names,
  person,
}: {
  rows: IncidentRow[];
  names: Names;
  person: Person;
}) {
  const since = lookedBefore(person.id, Date.now());
  return (
    <table class="desk-table desk-incidents">
      <caption class="only-heard">
        Incidents and near misses, newest first. Arrow keys move between rows, Enter opens the incident.
      </caption>
      <thead>
        <tr>
          <th scope="col">When</th>
          <th scope="col">What</th>
          <th scope="col">Review</th>
          <th scope="col">Kind</th>
          <th scope="col">{HARM_HEADING}</th>
          <th scope="col">Site</th>
          <th scope="col">Optic</th>
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <Row key={row.line} row={row} names={names} fresh={row.received_at > since} />
        ))}
      </tbody>
    </table>
  );
}

function Row({ row, names, fresh }: { row: IncidentRow; names: Names; fresh: boolean }) {
  const late = row.received_at - row.at > LATE_MS;
  return (
    <tr class={row.withdrawn ? "desk-withdrawn" : ""}>
      <Cell label="When" head="alone">
        <span class="number">{day(row.at)}</span> <span class="number strong">{clock(row.at)}</span>
        {late && <span class="desk-late">arrived {span(row.received_at - row.at)} later</span>}
      </Cell>
      <Cell label="What" head="alone">
        <a class="desk-row-link" href={hrefOf("incident", row.line)}>
          {sentence(names.choice("safety_what", row.what))}
        </a>
        {row.note && <span class="desk-note">{row.note}</span>}
        <span class="desk-tags">
          <span class="quiet t-small">
            {row.case_code ? `case ${row.case_code}` : row.case ? "" : "no case"}
          </span>
          {fresh && <Tag icon="info">arrived since your last look</Tag>}
          {row.withdrawn ? (
            <Tag icon="cross">withdrawn</Tag>
          ) : (
            row.amended && <Tag icon="history">amended</Tag>
          )}
          {row.after_closing && <Tag icon="clock">came after the case was closed</Tag>}
          {row.practice && (
            <Tag practice icon="practice">
              practice
            </Tag>
          )}
        </span>
      </Cell>
      <Cell label="Review">
        <ReviewTag state={row.state} late={row.late} />
        {row.due && (
          <span class={isOverdue(row.due) ? "desk-late" : "desk-note"}>
            {isOverdue(row.due) && <Icon name="clock" />} {isOverdue(row.due) ? "overdue since" : "due"}{" "}
            {dayOf(row.due)}
            {row.owner ? `, ${row.owner}` : ""}
          </span>
        )}
      </Cell>
      <Cell label="Kind">
        {sentence(kindWords(row))}
        {!row.near_miss && row.reached_patient !== null && (
          <span class="desk-note">reached the patient: {reachedWords(row.reached_patient)}</span>
        )}
      </Cell>
      <Cell label={HARM_HEADING}>
        <HarmWord harm={row.harm} />
        {row.officer_harm && (
          <span class="desk-note">
            at the desk: <HarmWord harm={row.officer_harm} />
          </span>
        )}
      </Cell>
      <Cell label="Site">
        {row.site_name}
        <span class="desk-note">{row.device_label}</span>
      </Cell>
      <Cell label="Optic">{row.optic ? names.optic(row.optic) : "—"}</Cell>
    </tr>
  );
}
