/** One eye's map, and beneath it what is shown, by which plan, the frames one by one, or what to go back over. */
import "../choice/asked.css";
import "../guide.css";
import "../position/position.css";
import { useMemo } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import type { Held } from "../../pack";
import type { Pack, PackRegion, PhoneRetina } from "../../types.gen";
import { Fold, LinkButton, Notice, PickOne, Segmented } from "../../ui";
import { useDraft } from "../drafts";
import { FramesPanel } from "../frames/FramesPanel";
import { allFields } from "../guide";
import { noTurnBecause } from "../position/ask";
import { go, goCase, hrefOf } from "../router";
import {
  cellsOfSectors,
  type Filling,
  fillingOf,
  type MapField,
  plannedFields,
  sectorShares,
  sectorStands,
  takenFields,
  wayFields,
} from "./filling";
import { seriesFields } from "./fromSeries";
import { Key } from "./Key";
import { darkCells, sectorAt } from "./places";
import { RetinaMap } from "./RetinaMap";
import { Sweep } from "./Sweep";
import { Ways } from "./Ways";
import {
  chosenId,
  framesOfWay,
  plannedRegions,
  reachClassOf,
  SWEEP,
  sweepFor,
  type Way,
  wayById,
  waysFor,
} from "./ways";

const VIEWS = ["shown", "plan", "take", "over"] as const;
export type View = (typeof VIEWS)[number];
const VIEW_WORD: Record<View, string> = { shown: "Shown", plan: "Plan", take: "Take", over: "Go over" };

export const percent = (share: number): string => `${Math.round(share * 100)} %`;

export function viewOf(text: string | undefined): View {
  return VIEWS.find((v) => v === text) ?? "shown";
}

interface Of {
  state: CaseState;
  held: Held;
  eye: Eye;
  view: View;
}

export function MapPanel(props: Of) {
  const { retina } = props.held.pack;
  if (retina === null || retina === undefined) {
    return (
      <Notice kind="warn" title="This guidance holds no map of the retina">
        <p>It was made before there was one. Newer guidance brings it.</p>
      </Notice>
    );
  }
  return <OfRetina {...props} retina={retina} />;
}

function OfRetina({ state, held, eye, view, retina }: Of & { retina: PhoneRetina }) {
  const { pack } = held;
  const { regions } = pack;
  const optic = pack.optics.find((o) => o.id === state.optic);
  const reach = reachClassOf(pack, state.face[eye]?.body);
  const chosen = optic === undefined ? null : chosenId(state, eye, optic.id);
  const [draft, set] = useDraft(`${state.id}:map:${eye}`, {
    region: chosen?.split(":")[1] ?? plannedRegions(pack)[0]?.id ?? "posterior_pole",
    way: chosen,
    sector: "centre",
    frame: null as string | null,
  });
  const region = regions.find((r) => r.id === draft.region) ?? regions[0];
  const ways = useMemo(
    () =>
      optic === undefined || reach === null || region === undefined
        ? []
        : waysFor(pack, reach, optic.id, region.id),
    [pack, reach, optic, region],
  );
  const standing =
    optic === undefined || reach === null || chosen === null ? null : wayById(pack, reach, optic.id, chosen);
  // picked for a look on the plan's own view; everywhere else the map goes by what was chosen
  const picked = ways.find((w) => w.id === draft.way) ?? ways.find((w) => w.id === chosen) ?? ways[0] ?? null;
  const shownWay = view === "plan" ? picked : standing;
  const modality = state.modalities[0] ?? "colour";
  const frames = useMemo(
    () => (shownWay === null ? [] : framesOfWay(shownWay, modality)),
    [shownWay, modality],
  );
  const planned = useMemo((): MapField[] => {
    if (optic === undefined) return [];
    if (shownWay !== null) return wayFields(shownWay.fields, frames, optic, state, eye);
    const series = seriesFields(pack, state, optic, eye);
    return series ?? plannedFields(allFields(pack, state, eye, optic.id), optic, state, eye);
  }, [pack, state, eye, optic, shownWay]);
  const taken = useMemo(() => takenFields(pack, state, eye), [pack, state, eye]);
  const filling = useMemo(() => {
    const open = planned.filter((f) => f.status !== "taken" && f.status !== "missed");
    const cones = (list: readonly MapField[]) => list.map((f) => f.cone);
    return fillingOf(retina, regions, cones(taken), cones(open), region?.id ?? "");
  }, [retina, regions, taken, planned, region]);
  const cells = cellsOfSectors(retina, regions, eye);
  const stands = sectorStands(state, eye, sectorShares(cells, filling.shown));
  const dark = useMemo(() => darkCells(retina, cells, stands), [state, filling]);
  // frames of another optic are in no plan of this one, and are drawn beside it
  const beside = taken.filter(
    (t) => !planned.some((p) => p.status === "taken" && p.cone.join() === t.cone.join()),
  );
  const fields = [...planned, ...beside];
  const goTo = (next: View): void =>
    go({ page: "case", id: state.id, screen: "map", tail: [eye, next] }, { replace: true });
  return (
    <div class="stack">
      <RetinaMap
        pack={{ retina, regions }}
        eye={eye}
        fields={fields}
        missing={filling.missing}
        marked={dark}
        numbered={shownWay !== null && planned.length <= 20}
        words={mapWords(eye, fields, region, filling)}
        onPlace={(nasal, up) => {
          const sector = sectorAt(cells, retina, eye, nasal, up);
          if (sector === null) return;
          set({ sector });
          if (view !== "over") goTo("over");
        }}
      />
      <div class="map-views">
        <Segmented<View>
          legend="View"
          hideLegend
          options={VIEWS.map((id) => ({ id, text: VIEW_WORD[id] }))}
          value={view}
          onPick={goTo}
        />
      </div>
      {(view === "shown" || view === "plan") && (
        <div class="regions">
          <PickOne
            legend="How far out"
            options={regions.map((r) => ({ id: r.id, text: r.name }))}
            value={region?.id ?? null}
            onPick={(id) => set({ region: id ?? "retina", way: null })}
            across
          />
        </div>
      )}
      {view === "shown" && (
        <Shown pack={pack} retina={retina} region={region} filling={filling} dark={dark !== null} />
      )}
      {view === "plan" &&
        (optic === undefined || reach === null ? (
          <NotYet state={state} pack={pack} eye={eye} optic={optic !== undefined} />
        ) : (
          <Ways
            state={state}
            eye={eye}
            optic={optic}
            ways={ways}
            picked={picked}
            chosen={chosen}
            onPick={(way) => set({ way })}
            onChosen={() => goTo("take")}
          />
        ))}
      {view === "take" && (
        <FramesPanel
          key={draft.frame ?? ""}
          state={state}
          held={held}
          round={{ eye, optic: state.optic }}
          wanted={null}
          {...(standing === null ? {} : { own: frames })}
          start={draft.frame}
          onSaved={async () => goCase(state.id, "step")}
        />
      )}
      {view === "over" && (
        <Sweep
          caseId={state.id}
          eye={eye}
          stands={stands}
          picked={draft.sector}
          onPick={(sector) => set({ sector })}
          frame={frameFor(pack, reach, optic?.id ?? null, standing, eye, draft.sector)}
          onFrame={(frame) => {
            set({ frame });
            goTo("take");
          }}
        />
      )}
    </div>
  );
}

/** The frame of the sweep that shows most of a sector; null where no sweep was chosen or none shows enough. */
function frameFor(
  pack: Pack,
  reach: string | null,
  optic: string | null,
  way: Way | null,
  eye: Eye,
  sector: string,
): { id: string; number: number } | null {
  if (reach === null || optic === null || way?.id !== SWEEP) return null;
  const sweep = sweepFor(pack, reach, optic);
  const number = sweep?.sectors.find((s) => s.id === asRightEye(eye, sector))?.frames[0];
  return number === undefined ? null : { id: `${SWEEP}#${number + 1}`, number: number + 1 };
}

/** The pack counts hours as on a right eye; on a left one they run the other way. */
function asRightEye(eye: Eye, sector: string): string {
  const [ring, hour] = sector.split("-");
  if (eye === "right" || hour === undefined) return sector;
  const mirrored = (12 - Number(hour)) % 12;
  return `${ring}-${mirrored === 0 ? 12 : mirrored}`;
}

function Shown({
  pack,
  retina,
  region,
  filling,
  dark,
}: {
  pack: Pack;
  retina: PhoneRetina;
  region: PackRegion | undefined;
  filling: Filling;
  dark: boolean;
}) {
  const whole = pack.regions.find((r) => r.id === "retina")?.area_mm2 ?? 0;
  return (
    <>
      <dl class="facts" aria-label="How much is shown">
        <dt>So far</dt>
        <dd>
          {percent(filling.region_fraction[region?.id ?? ""] ?? 0)} of {region?.name.toLowerCase()}
        </dd>
        <dt>When all is taken</dt>
        <dd>{percent(filling.planned_fraction[region?.id ?? ""] ?? 0)}</dd>
        <dt>Of the retina</dt>
        <dd>
          {percent(filling.retina_fraction)}, {Math.round(filling.area_mm2)} of {Math.round(whole)} mm²
        </dd>
      </dl>
      <Key dark={dark} />
      <Fold word="Where these figures come from">
        <div class="stack-tight t-small">
          <p>
            Counted on this phone in cells of {retina.area_mm2.toFixed(2)} mm² of a model retina (
            {retina.model}), by guidance {pack.version}. A field is as wide as the optic's handbook says, or
            as the advice for its gaze left it; lids, lashes and a narrow pupil take from it. Published areas
            of the whole retina differ by a third.
          </p>
          {region && (
            <p>
              {region.name}: {region.source}.
            </p>
          )}
        </div>
      </Fold>
    </>
  );
}

function NotYet({ state, pack, eye, optic }: { state: CaseState; pack: Pack; eye: Eye; optic: boolean }) {
  const why = noTurnBecause(pack, state, eye);
  if (why !== null) {
    return (
      <Notice kind="info" title="No plan is computed">
        <p>{why}</p>
        <p>Plans rest on the turn that each gaze asks for. Go by the list of frames.</p>
      </Notice>
    );
  }
  return (
    <Notice kind="info" title={optic ? "Measure the face first" : "Choose the optic first"}>
      <p>What can be reached depends on the optic and the face.</p>
      <LinkButton kind="main" href={optic ? hrefOf(state.id, "face", eye) : hrefOf(state.id, "choice")}>
        {optic ? "Measure the face" : "Choose the optic"}
      </LinkButton>
    </Notice>
  );
}

function mapWords(
  eye: Eye,
  fields: readonly MapField[],
  region: PackRegion | undefined,
  filling: Filling,
): string {
  const taken = fields.filter((f) => f.status === "taken").length;
  const share = percent(filling.region_fraction[region?.id ?? ""] ?? 0);
  return `Map of the ${eye} retina: ${taken} of ${fields.length} fields taken, ${share} of ${region?.name.toLowerCase() ?? ""} shown.`;
}
