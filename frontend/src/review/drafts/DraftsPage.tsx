import { useState } from "preact/hooks";
import type { Draft, DraftRow, PackRow } from "../../types.gen";
import { Button } from "../../ui";
import { type Answer, post } from "../api";
import { useAsked } from "../asked";
import { inForce, newestFirst, packName } from "../packs/choosing";
import { Tabs } from "../packs/Tabs";
import { Select } from "../parts/Select";
import { Empty, Refusal, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { moment } from "../when";

export function DraftsPage() {
  const packs = useAsked<PackRow[]>("/api/packs");
  const drafts = useAsked<DraftRow[]>("/api/drafts");
  const rows = packs.value ?? [];
  const version = (sha256: string) => rows.find((row) => row.sha256 === sha256)?.version ?? "unknown";
  return (
    <div class="stack">
      <h1>Drafts of the next pack</h1>
      <Tabs page="drafts" />
      <p class="quiet packs-how">
        A draft begins as a pack and is edited here. Every save is kept and checked. What comes of it is in
        force nowhere until it is compiled, proved and approved.
      </p>
      <Waiting answer={packs.answer} what="the packs" again={packs.again} />
      {rows.length > 0 && <Begin rows={rows} />}
      <Waiting answer={drafts.answer} what="the drafts" again={drafts.again} />
      {drafts.value?.length === 0 && <Empty title="There is no draft">Begin one from a pack above.</Empty>}
      <ul class="stack" aria-label="Drafts, newest first">
        {drafts.value?.map((row) => (
          <li key={row.draft} class="card">
            <a class="desk-clear" href={hrefOf("draft", row.draft)}>
              Draft from version {version(row.base)}
            </a>
            <p class="quiet">
              Save {row.last.number}, {moment(row.last.at)} by {row.last.by}
              {row.last.what && `: ${row.last.what}`}
              {row.last.pack && `. Compiled to version ${version(row.last.pack)}`}
            </p>
          </li>
        ))}
      </ul>
    </div>
  );
}

function Begin({ rows }: { rows: PackRow[] }) {
  const [base, setBase] = useState(inForce(rows)?.sha256 ?? "");
  const [answer, setAnswer] = useState<Answer<Draft> | null>(null);
  const [busy, setBusy] = useState(false);
  async function begin(event: Event) {
    event.preventDefault();
    setBusy(true);
    const got = await post<Draft>("/api/drafts", { base });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") location.hash = hrefOf("draft", got.value.draft);
  }
  return (
    <form class="packs-pair" onSubmit={begin}>
      <Select
        label="Begin from"
        value={base}
        options={newestFirst(rows).map((row) => ({ id: row.sha256, text: packName(row) }))}
        onPick={setBase}
      />
      <Button type="submit" disabled={busy}>
        Begin a draft
      </Button>
      <Refusal answer={answer} />
    </form>
  );
}
