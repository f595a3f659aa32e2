/** One eye's map: what is shown so far and what is planned, in figures too, and the sectors to go back over. */
import "../guide.css";
import { useMemo } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import type { Held } from "../../pack";
import type { Pack, PhoneRetina } from "../../types.gen";
import { Fold, Notice, PickOne } from "../../ui";
import { useDraft } from "../drafts";
import { allFields } from "../guide";
import {
  cellsOfSectors,
  fillingOf,
  type MapField,
  plannedFields,
  sectorShares,
  sectorStands,
  takenFields,
} from "./filling";
import { Key } from "./Key";
import { RetinaMap } from "./RetinaMap";
import { Sweep } from "./Sweep";
import { hourOf } from "./sectors";

export const percent = (share: number): string => `${Math.round(share * 100)} %`;

export function MapPanel({ state, held, eye }: { state: CaseState; held: Held; eye: Eye }) {
  const { pack } = held;
  if (pack.retina === null || pack.retina === undefined) {
    return (
      <Notice kind="warn" title="This guidance holds no map of the retina">
        <p>It was made before there was one. Newer guidance brings it.</p>
      </Notice>
    );
  }
  return <OfRetina key={eye} state={state} pack={pack} retina={pack.retina} eye={eye} />;
}

function OfRetina({
  state,
  pack,
  retina,
  eye,
}: {
  state: CaseState;
  pack: Pack;
  retina: PhoneRetina;
  eye: Eye;
}) {
  const { regions } = pack;
  const [draft, set] = useDraft(`${state.id}:map:${eye}`, { region: "posterior_pole", sector: "centre" });
  const optic = pack.optics.find((o) => o.id === state.optic);
  const planned = useMemo(
    () =>
      optic === undefined ? [] : plannedFields(allFields(pack, state, eye, optic.id), optic, state, eye),
    [pack, state, eye, optic],
  );
  const taken = useMemo(() => takenFields(pack, state, eye), [pack, state, eye]);
  const region = regions.find((r) => r.id === draft.region) ?? regions[0];
  const open = planned.filter((f) => f.status !== "taken" && f.status !== "missed");
  const filling = useMemo(
    () =>
      fillingOf(
        retina,
        regions,
        taken.map((f) => f.cone),
        open.map((f) => f.cone),
        region?.id ?? "",
      ),
    [retina, regions, taken, planned, region],
  );
  const cells = cellsOfSectors(retina, regions, eye);
  const stands = sectorStands(state, eye, sectorShares(cells, filling.shown));
  const dark = useMemo(() => darkCells(retina, cells, stands), [state, filling]);
  // frames of another optic are in no plan of this one, and are drawn beside it
  const beside = taken.filter(
    (t) => !planned.some((p) => p.status === "taken" && p.cone.join() === t.cone.join()),
  );
  const fields = [...planned, ...beside];
  const regionShare = filling.region_fraction[region?.id ?? ""] ?? 0;
  const plannedShare = filling.planned_fraction[region?.id ?? ""] ?? 0;
  return (
    <div class="stack">
      <RetinaMap
        pack={{ retina, regions }}
        eye={eye}
        fields={fields}
        missing={filling.missing}
        marked={dark}
        words={mapWords(eye, fields, region?.name ?? "", regionShare)}
        onPlace={(nasal, up) => {
          const id = sectorAt(cells, retina, eye, nasal, up);
          if (id !== null) set({ sector: id });
        }}
      />
      <Key dark={dark !== null} />
      <dl class="facts" aria-label="How much is shown">
        <dt>Shown so far</dt>
        <dd>
          {percent(regionShare)} of {region?.name.toLowerCase()}
        </dd>
        <dt>With what is planned</dt>
        <dd>{percent(plannedShare)}</dd>
        <dt>Of the retina</dt>
        <dd>
          {percent(filling.retina_fraction)}, {Math.round(filling.area_mm2)} mm²
        </dd>
      </dl>
      <PickOne
        legend="What is asked for"
        options={regions.map((r) => ({ id: r.id, text: r.name }))}
        value={region?.id ?? null}
        onPick={(id) => set({ region: id ?? "retina" })}
      />
      <Sweep
        caseId={state.id}
        eye={eye}
        stands={stands}
        picked={draft.sector}
        onPick={(sector) => set({ sector })}
      />
      <Fold word="Where these figures come from">
        <div class="stack-tight t-small">
          <p>
            Counted on this phone in cells of {retina.area_mm2.toFixed(2)} mm² of the model retina (
            {retina.model}), by guidance {pack.version}. A field is as wide as the optic's handbook says, or
            as the advice for its gaze left it; lids, lashes and a narrow pupil take from it. The whole retina
            has {Math.round(regions.find((r) => r.id === "retina")?.area_mm2 ?? 0)} mm² here; published
            figures differ by a third.
          </p>
          {region && (
            <p>
              {region.name}: {region.source}.
            </p>
          )}
        </div>
      </Fold>
    </div>
  );
}

/** Cells of the sectors that a person marked as too dark; null where there is none. */
function darkCells(
  retina: PhoneRetina,
  cells: Map<string, number[]>,
  stands: readonly { sector: { id: string }; state: string }[],
): Uint8Array | null {
  const dark = stands.filter((s) => s.state === "dark");
  if (dark.length === 0) return null;
  const flags = new Uint8Array(retina.column.length);
  for (const { sector } of dark) for (const i of cells.get(sector.id) ?? []) flags[i] = 1;
  return flags;
}

/** The sector of the cell that a point of the map lies in; null beside the retina. */
function sectorAt(
  cells: Map<string, number[]>,
  retina: PhoneRetina,
  eye: Eye,
  nasal_mm: number,
  up_mm: number,
): string | null {
  const column = Math.floor(nasal_mm / retina.spacing_mm);
  const row = Math.floor(up_mm / retina.spacing_mm);
  const cell = retina.column.findIndex((c, i) => c === column && retina.row[i] === row);
  if (cell < 0) return null;
  const hour = hourOf(eye, nasal_mm, up_mm);
  for (const id of ["centre", `mid-${hour}`, `far-${hour}`]) if (cells.get(id)?.includes(cell)) return id;
  for (const [id, list] of cells) if (list.includes(cell)) return id;
  return null;
}

function mapWords(eye: Eye, fields: readonly MapField[], region: string, share: number): string {
  const taken = fields.filter((f) => f.status === "taken").length;
  return `Map of the ${eye} retina: ${taken} of ${fields.length} fields taken, ${percent(share)} of ${region.toLowerCase()} shown.`;
}
