import type { IncidentRow, Timeline } from "../../types.gen";
import { namesFrom, packOf } from "../names";
import type { PackNames } from "../newest";
import { HarmWord } from "../parts/tags";
import { standingBody } from "../standing";
import { tell } from "../telling";
import { moment } from "../when";
import { HARM_SCALE, kindWords, reachedWords, sentence } from "../words";

/** Shown above in the page's own words; the rest of what the reporter noted follows. */
const SHOWN = new Set(["Reached the patient", HARM_SCALE, "Note"]);

/** The reporter's words, as they stand after their amendments. */
export function Reported({
  row,
  timeline,
  names,
}: {
  row: IncidentRow;
  timeline: Timeline | null;
  names: PackNames;
}) {
  const entry = timeline?.entries.find((one) => one.id === row.line);
  const byId = new Map(timeline?.entries.map((one) => [one.id, one]));
  const told = entry
    ? tell(entry.type, entry.known, standingBody(entry, byId) ?? entry.body, namesFrom(packOf(entry.pack)))
        .rows
    : [];
  const rows: [string, string][] = told.filter(([label]) => !SHOWN.has(label)).map(([l, v]) => [l, v]);
  return (
    <section class="desk-half" aria-label="As reported">
      <h2>As reported</h2>
      {row.note ? (
        <blockquote class="desk-quote">{row.note}</blockquote>
      ) : (
        <p class="quiet">No note was written.</p>
      )}
      <dl class="facts">
        <dt>{HARM_SCALE}</dt>
        <dd>
          <HarmWord harm={row.harm} />
        </dd>
        <dt>Kind</dt>
        <dd>{sentence(kindWords(row))}</dd>
        <dt>Reached the patient</dt>
        <dd>{sentence(reachedWords(row.reached_patient))}</dd>
        {row.optic && (
          <>
            <dt>Optic</dt>
            <dd>{names.optic(row.optic)}</dd>
          </>
        )}
        {rows.map(([label, value]) => (
          <Fact key={label} label={label} value={value} />
        ))}
        <dt>When</dt>
        <dd>{moment(row.at)}, by the device's clock</dd>
        <dt>Device</dt>
        <dd>{row.device_label}</dd>
      </dl>
    </section>
  );
}

function Fact({ label, value }: { label: string; value: string }) {
  return (
    <>
      <dt>{label}</dt>
      <dd>{value}</dd>
    </>
  );
}
