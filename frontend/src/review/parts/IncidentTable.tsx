import type { IncidentRow, Person } from "../../types.gen";
import { Icon, Tag } from "../../ui";
import { lookedBefore } from "../looked";
import type { Names } from "../names";
import { hrefOf } from "../route";
import { clock, day, span } from "../when";
import { HARM_HEADING, harmWords, kindWords, reachedWords, sentence } from "../words";
import { Cell } from "./Cell";

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
    <table class="desk-table" onKeyDown={moveBetweenRows}>
      <caption class="only-heard">
        Incidents and near misses, newest first. Arrow keys move between rows, Enter opens the case.
      </caption>
      <thead>
        <tr>
          <th scope="col">When</th>
          <th scope="col">What</th>
          <th scope="col">Kind</th>
          <th scope="col">Reached patient</th>
          <th scope="col">{HARM_HEADING}</th>
          <th scope="col">Site</th>
          <th scope="col">Optic</th>
          <th scope="col">Device</th>
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
  const what = sentence(names.choice("safety_what", row.what));
  const late = row.received_at - row.at > LATE_MS;
  return (
    <tr class={row.withdrawn ? "desk-withdrawn" : ""}>
      <Cell label="When" head="alone">
        <span class="number">{day(row.at)}</span> <span class="number strong">{clock(row.at)}</span>
        {late && <span class="desk-late">arrived {span(row.received_at - row.at)} later</span>}
      </Cell>
      <Cell label="What" head="alone">
        {row.case ? (
          <a class="desk-row-link" href={hrefOf("case", row.case, new URLSearchParams({ line: row.line }))}>
            {what}
          </a>
        ) : (
          <span class="strong">{what}</span>
        )}
        {row.note && <span class="desk-note">{row.note}</span>}
        <span class="desk-tags">
          {row.case_code && <span class="quiet t-small">case {row.case_code}</span>}
          {fresh && <Tag icon="info">new</Tag>}
          {row.withdrawn ? (
            <Tag icon="cross">withdrawn</Tag>
          ) : (
            row.amended && <Tag icon="history">amended</Tag>
          )}
          {row.practice && (
            <Tag practice icon="practice">
              practice
            </Tag>
          )}
        </span>
      </Cell>
      <Cell label="Kind">{sentence(kindWords(row))}</Cell>
      <Cell label="Reached patient">{sentence(reachedWords(row.reached_patient))}</Cell>
      <Cell label={HARM_HEADING}>
        <HarmWord harm={row.harm} />
      </Cell>
      <Cell label="Site">{row.site_name}</Cell>
      <Cell label="Optic">{row.optic ? names.optic(row.optic) : "—"}</Cell>
      <Cell label="Device">{row.device_label}</Cell>
    </tr>
  );
}

/** The heavier degrees carry a shape as well as a colour. */
function HarmWord({ harm }: { harm: IncidentRow["harm"] }) {
  const heavy = harm === "severe" || harm === "death";
  return (
    <span class={heavy ? "desk-harm-heavy" : harm === "moderate" ? "desk-harm" : ""}>
      {heavy ? <Icon name="danger" /> : harm === "moderate" ? <Icon name="warn" /> : null}
      {sentence(harmWords(harm))}
    </span>
  );
}

function moveBetweenRows(event: KeyboardEvent & { currentTarget: HTMLTableElement }): void {
  const step = event.key === "ArrowDown" ? 1 : event.key === "ArrowUp" ? -1 : 0;
  if (!step) return;
  const links = [...event.currentTarget.querySelectorAll<HTMLAnchorElement>("a.desk-row-link")];
  const at = links.indexOf(document.activeElement as HTMLAnchorElement);
  if (at < 0) return;
  event.preventDefault();
  links[Math.max(0, Math.min(links.length - 1, at + step))]?.focus();
}
