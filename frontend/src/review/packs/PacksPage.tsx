import { useState } from "preact/hooks";
import type { PackRow, Person } from "../../types.gen";
import { Button, Fold, Tag } from "../../ui";
import { type Answer, ask } from "../api";
import { useAsked } from "../asked";
import { useChanges } from "../live";
import { namesFrom, packOf } from "../names";
import { Empty, Refusal, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { moment } from "../when";
import { ownSite, wholeHouse } from "../yours";
import { inForce } from "./choosing";
import { ApproveSheet, RecallSheet } from "./PackSheets";
import { Tabs } from "./Tabs";

type Doing = { what: "approve" | "recall"; row: PackRow } | null;

export function PacksPage({ person }: { person: Person }) {
  const { answer, value, again } = useAsked<PackRow[]>("/api/packs", 0, { changes: useChanges("packs") });
  const [doing, setDoing] = useState<Doing>(null);
  const close = (done: boolean) => {
    setDoing(null);
    if (done) again();
  };
  return (
    <div class="stack">
      <h1>Guidance packs</h1>
      <Tabs page="packs" />
      <p class="quiet">
        A pack is in force at a site from its latest approval on. Phones prove it by its check vectors and
        change over between cases, never within one. A recall shows on phones at once, even in mid-case.
      </p>
      {person.site === null ? (
        <Upload onTaken={again} />
      ) : (
        <p class="quiet">{wholeHouse("Uploading, approving and recalling packs is", "a lead")}</p>
      )}
      <Waiting answer={answer ?? (value ? { state: "ready", value } : null)} what="the packs" again={again} />
      {value && value.length === 0 && (
        <Empty title="No pack is on the server">
          Compile one with “chinrest pack compile”, then upload it here. The next can be edited as a draft.
        </Empty>
      )}
      {value && value.length > 0 && (
        <ul class="stack" aria-label="Packs, newest first">
          {[...value]
            .sort((a, b) => b.received_at - a.received_at)
            .map((row) => (
              <li key={row.sha256}>
                <PackCard
                  row={row}
                  older={inForce(value)}
                  onDo={person.site === null ? (what) => setDoing({ what, row }) : null}
                />
              </li>
            ))}
        </ul>
      )}
      {doing?.what === "approve" && <ApproveSheet row={doing.row} onClose={close} />}
      {doing?.what === "recall" && <RecallSheet row={doing.row} onClose={close} />}
    </div>
  );
}

function Upload({ onTaken }: { onTaken: () => void }) {
  const [file, setFile] = useState<File | null>(null);
  const [answer, setAnswer] = useState<Answer<unknown> | null>(null);
  const [busy, setBusy] = useState(false);
  async function send(event: Event) {
    event.preventDefault();
    if (!file) return;
    setBusy(true);
    // the very bytes: the pack is named by their hash
    const got = await ask("/api/packs", {
      method: "POST",
      body: await file.arrayBuffer(),
      headers: { "Content-Type": "application/json" },
    });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onTaken();
  }
  return (
    <form class="card stack desk-narrow" onSubmit={send}>
      <div class="field">
        <label for="desk-pack-file">Compiled pack (JSON)</label>
        <input
          id="desk-pack-file"
          type="file"
          accept=".json,application/json"
          onChange={(event) => {
            setFile(event.currentTarget.files?.[0] ?? null);
            setAnswer(null);
          }}
        />
      </div>
      <Refusal answer={answer} />
      {answer?.state === "ready" && (
        <p role="status">The pack is on the server. It is in force nowhere until approved.</p>
      )}
      <Button type="submit" disabled={busy || !file}>
        {busy ? "Uploading …" : "Upload this pack"}
      </Button>
    </form>
  );
}

function PackCard({
  row,
  older,
  onDo,
}: {
  row: PackRow;
  /** The pack that it would take over from. */
  older: PackRow | null;
  /** null: not theirs to do. */
  onDo: ((what: "approve" | "recall") => void) | null;
}) {
  const pack = packOf(row.sha256);
  const names = namesFrom(pack);
  const recalled = row.recalls.length > 0;
  const own = ownSite();
  return (
    <article class={`card ${recalled ? "desk-recalled" : ""}`} aria-label={`Pack ${row.version}`}>
      <div class="row-ends">
        <h2>
          Version {row.version} {pack?.demo && <Tag icon="practice">invented demo data</Tag>}
        </h2>
        <p class="quiet t-small">received {moment(row.received_at)}</p>
      </div>
      <p class="desk-hash t-small quiet">{row.sha256}</p>
      {row.recalls.map((recall) => (
        <p key={recall.at}>
          <Tag icon="danger">recalled</Tag> {moment(recall.at)}: {recall.why}
        </p>
      ))}
      {row.in_force.length > 0 && (
        <p>
          <Tag icon="tick">in force</Tag> at {row.in_force.map((site) => names.site(site)).join(", ")}
        </p>
      )}
      {row.approvals.length === 0 && <p class="quiet">Not approved for {own === null ? "any site" : own}.</p>}
      {row.approvals.map((approval) => (
        <p key={approval.at}>
          <Tag icon="tick">approved</Tag> {moment(approval.at)} by {approval.by} for{" "}
          {approval.sites.map((s) => names.site(s)).join(", ")}
          {approval.note ? `: ${approval.note}` : ""}
        </p>
      ))}
      {pack && (
        <Fold word="What is in it">
          <dl class="facts">
            <dt>Clinic</dt>
            <dd>{pack.clinic}</dd>
            <dt>Optics</dt>
            <dd>{pack.optics.map((o) => `${o.name} (${o.field_deg}° field)`).join("; ")}</dd>
            <dt>Steps</dt>
            <dd class="number">{pack.steps.length}</dd>
            <dt>Least gap kept</dt>
            <dd class="number">{pack.limits.margin_mm} mm</dd>
            <dt>Check vectors</dt>
            <dd class="number">{pack.fit_vectors.length}</dd>
          </dl>
        </Fold>
      )}
      <p class="row">
        <a
          class="desk-clear"
          href={hrefOf("fits", row.sha256)}
          aria-label={`What version ${row.version} computes to`}
        >
          What it computes to
        </a>
        {older && older.sha256 !== row.sha256 && (
          <a
            class="desk-clear"
            href={hrefOf("difference", null, new URLSearchParams({ older: older.sha256, newer: row.sha256 }))}
            aria-label={`What differs between ${row.version} and the pack in force, ${older.version}`}
          >
            What differs from {older.version}
          </a>
        )}
      </p>
      {onDo && (
        <p class="row">
          <Button
            onClick={() => onDo("approve")}
            aria-label={`Approve version ${row.version}`}
            disabled={recalled}
          >
            Approve for sites
          </Button>
          <Button
            kind="warn"
            onClick={() => onDo("recall")}
            aria-label={`Recall version ${row.version}`}
            disabled={recalled}
          >
            Recall
          </Button>
        </p>
      )}
    </article>
  );
}
