import type { ComponentChildren } from "preact";
import { Icon, type IconName, Tag } from "../../ui";
import { packVersion } from "../names";
import { isDeskLine } from "../standing";
import type { Beat } from "../story";
import type { Tone } from "../telling";
import { clockSeconds, day, gap, moment, offsetWords } from "../when";

const SHAPES: Record<Tone, IconName | null> = {
  plain: null,
  pose: "eye",
  comfort: "comfort",
  caution: "warn",
  danger: "danger",
  waiting: "info",
};
const ARRIVED_LATE_MS = 60_000;

/** One line of the log on the line of time. What was amended or withdrawn stays readable, and says by what. */
export function BeatItem({
  beat,
  before,
  sought,
  since,
  heading: Heading,
}: {
  beat: Beat;
  before: number | null;
  sought: boolean;
  /** Where the clock of each dye stands, in words. */
  since: string[];
  heading: "h2" | "h3" | "h4";
}) {
  const { entry, telling } = beat;
  const shape = SHAPES[telling.tone];
  const later = gap(before, entry.at);
  const dated = before === null || day(before) !== day(entry.at);
  const overtaken = beat.amendedBy !== null || entry.amended_by !== null;
  return (
    <li
      id={`line-${entry.id}`}
      tabIndex={-1}
      class={`desk-beat desk-tone-${telling.tone} ${sought ? "desk-sought" : ""} ${overtaken ? "desk-overtaken" : ""}`}
    >
      <div class="desk-beat-when">
        {dated && <span class="t-small quiet">{day(entry.at)}</span>}
        <time class="number strong" dateTime={new Date(entry.at).toISOString()}>
          {clockSeconds(entry.at)}
        </time>
        {later && <span class="t-small quiet">{later}</span>}
        {since.map((words) => (
          <span key={words} class="t-small quiet">
            {words}
          </span>
        ))}
      </div>
      <span class="desk-beat-mark" aria-hidden="true">
        {shape && <Icon name={shape} />}
      </span>
      <article class="desk-beat-body" aria-label={telling.title}>
        <Heading>{telling.title}</Heading>
        <Overtaken beat={beat} />
        {entry.lacks && (
          <p class="row">
            <Icon name="warn" /> <span class="strong">{LACK_WORD[entry.lacks]}</span>
          </p>
        )}
        {beat.amends && (
          <p>
            Amends <Jump to={beat.amends.id}>the line of {clockSeconds(beat.amends.at)}</Jump>. Both stay.
          </p>
        )}
        {telling.rows.length > 0 && (
          <dl class="facts desk-facts">
            {telling.rows.map(([label, value]) => (
              <div key={label} class="desk-fact">
                <dt>{label}</dt>
                <dd>{value}</dd>
              </div>
            ))}
          </dl>
        )}
        <Changes beat={beat} />
        <Beside beat={beat} />
        <p class="quiet t-small">
          {[
            whoWords(beat),
            `${entry.device_label}, line ${entry.seq}`,
            offsetWords(entry.offset_ms),
            entry.received_at - entry.at > ARRIVED_LATE_MS ? `received ${moment(entry.received_at)}` : "",
            packVersion(entry.pack),
          ]
            .filter(Boolean)
            .join(" · ")}
        </p>
      </article>
    </li>
  );
}

/** A phone's line says who by claim only; what the desk itself wrote was done by somebody signed in. */
function whoWords({ entry, confirmed }: Beat): string {
  if (confirmed.length > 0)
    return `written on the locked phone; claimed after by ${confirmed.join(", then ")}`;
  if (!entry.actor) return "nobody named";
  return isDeskLine(entry.type) ? `by ${entry.actor}, signed in` : `by ${entry.actor}, as claimed`;
}

const LACK_WORD = {
  release: "Released nothing: it does not say who, as what, and why.",
  go_ahead: "Counted for nothing: it does not say who, and as what.",
  eased: "Counted for nothing: the answer before it held the dye back, and no reason is given.",
  skip: "Passed nothing: no reason is given.",
  reason: "No reason is given.",
} as const;

function Overtaken({ beat }: { beat: Beat }) {
  if (!beat.entry.amended_by) return null;
  const by = beat.amendedBy;
  return (
    <p class="desk-tags">
      <Tag icon={beat.withdrawn ? "cross" : "history"}>{beat.withdrawn ? "withdrawn" : "amended"}</Tag>
      {by ? (
        <Jump to={by.id}>by the line of {clockSeconds(by.at)}</Jump>
      ) : (
        <span>by a line that has not come yet</span>
      )}
    </p>
  );
}

function Changes({ beat }: { beat: Beat }) {
  if (beat.changes.length === 0) return null;
  return (
    <table class="desk-beside">
      <caption class="only-heard">What was changed</caption>
      <thead>
        <tr>
          <th scope="col">Changed</th>
          <th scope="col">Was</th>
          <th scope="col">Is now</th>
        </tr>
      </thead>
      <tbody>
        {beat.changes.map((change) => (
          <tr key={change.label}>
            <th scope="row">{change.label}</th>
            <td>{change.was}</td>
            <td class="strong">{change.now}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Beside({ beat }: { beat: Beat }) {
  if (beat.beside.length === 0) return null;
  return (
    <table class="desk-beside">
      <caption class="only-heard">The pose as advised, and as it was</caption>
      <thead>
        <tr>
          <th scope="col">Pose</th>
          <th scope="col">As advised</th>
          <th scope="col">As it was</th>
        </tr>
      </thead>
      <tbody>
        {beat.beside.map(([label, advised, was]) => (
          <tr key={label}>
            <th scope="row">{label}</th>
            <td>{advised}</td>
            <td class="strong">{was}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The address belongs to the pages, so a jump within one is a button's work and not a link's. */
function Jump({ to, children }: { to: string; children: ComponentChildren }) {
  const jump = () => {
    const line = document.getElementById(`line-${to}`);
    for (let fold = line?.closest("details"); fold; fold = fold.parentElement?.closest("details")) {
      fold.open = true;
    }
    line?.scrollIntoView({ block: "center" });
    line?.focus({ preventScroll: true });
  };
  return (
    <button type="button" class="desk-jump" onClick={jump}>
      {children}
    </button>
  );
}
