/** Read in when it is opened: its name begins as the desk's, so that no phone keeps it. */

import { useState } from "preact/hooks";
import type { DueAtSite, DueNow, ErasureRow, Retention, RuleInForce } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { useAsked } from "../asked";
import { Cell } from "../parts/Cell";
import { Command } from "../parts/Command";
import { Empty, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { day, moment, yearsWords } from "../when";

/** The rule by which cases are kept, what is due by it, and what was erased. Read only: a command erases. */
export function RetentionScreen() {
  const { answer, value, again } = useAsked<Retention>("/api/retention");
  return (
    <div class="stack">
      <div class="row-ends">
        <h1>Keeping and erasing</h1>
        <Button onClick={again}>Ask again</Button>
      </div>
      <Waiting answer={answer ?? (value ? { state: "ready", value } : null)} what="the rule" again={again} />
      {value && (
        <>
          <Rule rule={value.rule} />
          {value.rule?.years != null && <Due />}
          <Erased found={value} />
        </>
      )}
    </div>
  );
}

function Rule({ rule }: { rule: RuleInForce | null }) {
  return (
    <section class="stack" aria-label="The rule in force">
      <h2>The rule in force</h2>
      {rule === null ? (
        <p>No rule was ever set: nothing is erased by age.</p>
      ) : (
        <p>
          {rule.years === null
            ? "Cases are kept for good."
            : `Cases are kept for ${yearsWords(rule.years)} after their last line came, and what belongs to no case as long.`}{" "}
          Why: {rule.why}. Set by {rule.by} on {day(rule.since)}.
        </p>
      )}
      <p class="quiet">
        What must be kept, local law and rules say. The rule is set with the command{" "}
        <Command>chinrest retention set</Command>, and acted on with{" "}
        <Command>chinrest erase --for-good</Command>: nothing is erased from this page. One by request:{" "}
        <Command>chinrest erase --case</Command>, or of an incident without a case{" "}
        <Command>--incident</Command>.
      </p>
    </section>
  );
}

function Due() {
  const [wanted, setWanted] = useState(0);
  const { answer, value } = useAsked<DueNow>(wanted ? "/api/retention/due" : null, wanted);
  return (
    <section class="stack" aria-label="Due now">
      <h2>Due now</h2>
      <p class="quiet">
        Counted when asked for: at a large clinic that takes some seconds. Nothing is erased by it.
      </p>
      <p>
        <Button onClick={() => setWanted((n) => n + 1)}>Count what is due</Button>
      </p>
      {wanted > 0 && <Waiting answer={answer} what="what is due" />}
      {value && value.sites.length === 0 && <p>Nothing is due.</p>}
      {value && value.sites.length > 0 && (
        <table class="desk-table">
          <caption class="only-heard">Due now, by site</caption>
          <thead>
            <tr>
              <th scope="col">Site</th>
              <th scope="col">Cases</th>
              <th scope="col">Their lines</th>
              <th scope="col">Lines of no case</th>
              <th scope="col">The desk's words</th>
              <th scope="col">Kept aside</th>
              <th scope="col">Oldest</th>
              <th scope="col">Stays for now</th>
            </tr>
          </thead>
          <tbody>
            {value.sites.map((site) => (
              <tr key={site.site}>
                <Cell label="Site" head="row">
                  {site.site_name}
                </Cell>
                <Cell label="Cases">{site.cases}</Cell>
                <Cell label="Their lines">{site.bodies}</Cell>
                <Cell label="Lines of no case">{site.loose}</Cell>
                <Cell label="The desk's words">{site.words}</Cell>
                <Cell label="Kept aside">{site.refused}</Cell>
                <Cell label="Oldest">{day(site.oldest_at)}</Cell>
                <Cell label="Stays for now">{held(site)}</Cell>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}

function held(site: DueAtSite): string {
  const parts = [
    site.open_review ? `${site.open_review}: a review is not closed` : "",
    site.not_passed_on ? `${site.not_passed_on}: the hospital does not hold it whole` : "",
    site.not_folded ? `${site.not_folded}: it could not be folded, see the server's log` : "",
  ].filter(Boolean);
  return parts.length ? parts.join("; ") : "none";
}

function Erased({ found }: { found: Retention }) {
  return (
    <section class="stack" aria-label="What was erased">
      <h2>What was erased</h2>
      {found.erasures.length === 0 ? (
        <Empty title="Nothing was erased yet">
          Each erasing leaves a tombstone here, signed by this server, that says who did it and why.
        </Empty>
      ) : (
        <>
          <p class="quiet">
            {found.tombstones === 1 ? "One tombstone stands" : `${found.tombstones} tombstones stand`} in the
            server's chain; the latest are below. <Command>chinrest verify</Command> of an export checks every
            one.
          </p>
          <table class="desk-table">
            <caption class="only-heard">What was erased, newest first</caption>
            <thead>
              <tr>
                <th scope="col">When</th>
                <th scope="col">By</th>
                <th scope="col">Rule and reason</th>
                <th scope="col">Of</th>
                <th scope="col">Lines</th>
                <th scope="col">Tombstone</th>
              </tr>
            </thead>
            <tbody>
              {found.erasures.map((row) => (
                <Row key={row.tombstones[0]} row={row} />
              ))}
            </tbody>
          </table>
        </>
      )}
      <Notice title="Older copies">
        <p>
          Backups and exports that were made before an erasing still hold what it took. Let them go by the
          same rule, and run <Command>chinrest erase</Command> again after a restore.
        </p>
      </Notice>
    </section>
  );
}

function Row({ row }: { row: ErasureRow }) {
  const rule = row.rule === "age" ? `older than ${yearsWords(row.years)}` : "by request";
  const beside = [
    row.words ? `${row.words} of the desk` : "",
    row.refused ? `${row.refused} kept aside` : "",
  ].filter(Boolean);
  return (
    <tr>
      <Cell label="When" head="row">
        {moment(row.at)}
      </Cell>
      <Cell label="By">{row.by}</Cell>
      <Cell label="Rule and reason">
        {rule}
        <span class="desk-note">{row.why}</span>
      </Cell>
      <Cell label="Of">
        {row.loose ? "no case" : row.case === null ? "a case" : <a href={hrefOf("case", row.case)}>a case</a>}
      </Cell>
      <Cell label="Lines">
        {row.bodies}
        {beside.length > 0 && <span class="desk-note">and {beside.join(", ")}</span>}
      </Cell>
      <Cell label="Tombstone">
        <code>{row.tombstones[0]}</code>
        {row.tombstones.length > 1 && <span class="desk-note">and {row.tombstones.length - 1} more</span>}
      </Cell>
    </tr>
  );
}
