import type { PackDifference, PackRow } from "../../types.gen";
import { Button } from "../../ui";
import { useAsked } from "../asked";
import { Select } from "../parts/Select";
import { Empty, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { inForce, newestFirst, next, packName } from "./choosing";
import { Differences } from "./Differences";
import { Tabs } from "./Tabs";

export function DifferencePage({ older, newer }: { older: string | null; newer: string | null }) {
  const { answer, value, again } = useAsked<PackRow[]>("/api/packs");
  const rows = value ?? [];
  const from = older ?? inForce(rows)?.sha256 ?? null;
  const to = newer ?? next(rows)?.sha256 ?? null;
  return (
    <div class="stack">
      <h1>What differs between two packs</h1>
      <Tabs page="difference" />
      <Waiting answer={answer ?? (value ? { state: "ready", value } : null)} what="the packs" again={again} />
      {value && value.length < 2 && (
        <Empty title="There is nothing to compare">
          The server holds {value.length === 0 ? "no pack" : "one pack"}. Upload another to compare it.
        </Empty>
      )}
      {value && value.length > 1 && from && to && <Compared rows={rows} from={from} to={to} />}
    </div>
  );
}

function Compared({ rows, from, to }: { rows: PackRow[]; from: string; to: string }) {
  const path = `/api/packs/${encodeURIComponent(to)}/difference/${encodeURIComponent(from)}`;
  const { answer, value, again } = useAsked<PackDifference>(from === to ? null : path);
  const options = newestFirst(rows).map((row) => ({ id: row.sha256, text: packName(row) }));
  const go = (older: string, newer: string) => {
    location.hash = hrefOf("difference", null, new URLSearchParams({ older, newer }));
  };
  const here = answer?.state === "ready" ? answer.value : null;
  return (
    <>
      <form class="packs-pair" aria-label="Which two" onSubmit={(event) => event.preventDefault()}>
        <Select label="Older" value={from} options={options} onPick={(id) => go(id, to)} />
        <Select label="Newer" value={to} options={options} onPick={(id) => go(from, id)} />
        <Button onClick={() => go(to, from)}>Swap</Button>
        <Button onClick={() => window.print()}>Print</Button>
      </form>
      {from === to ? (
        <p class="quiet">Both are the same pack. Choose another on one side.</p>
      ) : (
        <>
          <Waiting
            answer={answer}
            what="what differs; turns and gaps are worked out anew, which takes some seconds"
            again={again}
          />
          {here && value && (
            <>
              <p>
                From {here.older.clinic}, version {here.older.version}, to {here.newer.clinic}, version{" "}
                {here.newer.version}.
              </p>
              <Differences found={here} />
            </>
          )}
        </>
      )}
    </>
  );
}
