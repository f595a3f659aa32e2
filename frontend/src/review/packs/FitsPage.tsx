import { useState } from "preact/hooks";
import type { NeckClass, PackFits, PackRow } from "../../types.gen";
import { Button, Fold } from "../../ui";
import { useAsked } from "../asked";
import { Select } from "../parts/Select";
import { Empty, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { inForce, newestFirst, packName } from "./choosing";
import { FitCells } from "./FitCells";
import { FitTable } from "./FitTable";
import { NECKS } from "./fits";
import { GapPicture } from "./GapPicture";
import { Tabs } from "./Tabs";

export function FitsPage({ sha256 }: { sha256: string | null }) {
  const { answer, value, again } = useAsked<PackRow[]>("/api/packs");
  const chosen = sha256 ?? (value && inForce(value)?.sha256) ?? null;
  return (
    <div class="stack">
      <h1>What each optic computes to</h1>
      <Tabs page="fits" />
      <Waiting answer={answer ?? (value ? { state: "ready", value } : null)} what="the packs" again={again} />
      {value && !chosen && (
        <Empty title="No pack is on the server">Upload one; then it is computed here.</Empty>
      )}
      {value && chosen && <Fits rows={value} sha256={chosen} />}
    </div>
  );
}

function Fits({ rows, sha256 }: { rows: PackRow[]; sha256: string }) {
  const path = `/api/packs/${encodeURIComponent(sha256)}/fits`;
  const { answer, value, again } = useAsked<PackFits>(path);
  const [neck, setNeck] = useState<NeckClass>("free");
  const here = value?.sha256 === sha256 ? value : null;
  return (
    <>
      <form class="packs-pair" aria-label="Which pack" onSubmit={(event) => event.preventDefault()}>
        <Select
          label="Pack"
          value={sha256}
          options={newestFirst(rows).map((row) => ({ id: row.sha256, text: packName(row) }))}
          onPick={(id) => {
            location.hash = hrefOf("fits", id);
          }}
        />
        <Select
          label="Neck"
          value={neck}
          options={NECKS.map((id) => ({ id, text: id }))}
          onPick={(id) => setNeck(id as NeckClass)}
        />
        <Button onClick={() => window.print()}>Print</Button>
      </form>
      <Waiting
        answer={here ? { state: "ready", value: here } : answer}
        what="what it computes to"
        again={again}
      />
      {here && (
        <>
          <p class="packs-how">
            {here.clinic}, version {here.version}. The least gap that is kept:{" "}
            <strong>{here.margin_mm} mm</strong> on the nominal face. {here.how}
          </p>
          {here.optics.map(([id, name]) => (
            <OpticFits key={id} fits={here} optic={id} name={name} neck={neck} />
          ))}
        </>
      )}
    </>
  );
}

function OpticFits({
  fits,
  optic,
  name,
  neck,
}: {
  fits: PackFits;
  optic: string;
  name: string;
  neck: NeckClass;
}) {
  const all = fits.rows.filter((row) => row.optic === optic);
  const rows = all.filter((row) => row.neck === neck);
  const none = rows.filter((row) => !row.feasible).length;
  return (
    <section class="desk-part" aria-label={name}>
      <h2>{name}</h2>
      {none > 0 && (
        <p>
          <strong>
            {none} of {rows.length} kinds of face
          </strong>{" "}
          get no turn with a neck that is {neck}.
        </p>
      )}
      <FitCells rows={rows} name={`${name}, neck ${neck}`} />
      <GapPicture rows={rows} name={name} neck={neck} margin_mm={fits.margin_mm} />
      <Fold word={`All figures of ${name}, every neck, as a table`}>
        <FitTable rows={all} name={name} />
      </Fold>
    </section>
  );
}
