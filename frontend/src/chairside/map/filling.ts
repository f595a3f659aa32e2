/** What has been photographed of a retina and what is still missing, counted in the pack's own cells. Pure. */
import { type Cone, unionOf } from "../../kernel";
import type { CaseState, Eye } from "../../log";
import type { Field, Optic, Pack, PackRegion, PhoneRetina } from "../../types.gen";
import { frameRows } from "../frames/plan";
import { hourOf, SECTORS, type Sector } from "./sectors";

export type FrameStatus = "open" | "now" | "taken" | "again" | "missed";

/** A field on the map: what is planned or was taken there. */
export interface MapField {
  id: string;
  name: string;
  /** Full angle, gaze H nasal+, V up+, degrees. */
  cone: Cone;
  status: FrameStatus;
}

/**
 * The field that a frame shows: the optic's own at its nominal distance, or what the advice for this gaze left of it.
 * The lesser of the two: drawn back, an optic shows less than its handbook says.
 */
export function fieldAngle(
  optic: Optic,
  state: CaseState,
  eye: Eye,
  gaze_deg: readonly [number, number],
): number {
  const advised = state.advised
    .filter(({ body }) => body.eye === eye && body.optic === optic.id && same(body.gaze_deg, gaze_deg))
    .at(-1)?.body.field_deg;
  return Math.min(optic.field_deg, advised ?? optic.field_deg);
}

const same = (a: readonly [number, number], b: readonly [number, number]): boolean =>
  a[0] === b[0] && a[1] === b[1];

/** The planned fields of one eye and optic, each with its answer; one field a gaze, however often it is asked for. */
export function plannedFields(
  fields: readonly Field[],
  optic: Optic,
  state: CaseState,
  eye: Eye,
): MapField[] {
  const taken = state.frames.map((n) => n.body);
  const rows = frameRows(fields, taken, { eye, optic: optic.id, asked: state.modalities });
  const found = new Map<string, MapField>();
  for (const { field, outcome } of rows) {
    const key = field.gaze_deg.join();
    const status = outcome ?? "open";
    const held = found.get(key);
    // one gaze is shown by any frame that was taken there
    if (held !== undefined && (held.status === "taken" || status !== "taken")) continue;
    const angle = fieldAngle(optic, state, eye, field.gaze_deg);
    found.set(key, { id: field.id, name: field.name, cone: [angle, ...field.gaze_deg], status });
  }
  return [...found.values()];
}

/** The fields of a plan or pattern, [h, v, field_deg] each, with their answers; `frames` are they as frames. */
export function wayFields(
  fields: readonly (readonly [number, number, number])[],
  frames: readonly Field[],
  optic: Optic,
  state: CaseState,
  eye: Eye,
): MapField[] {
  const taken = state.frames.map((n) => n.body);
  const rows = frameRows(frames, taken, { eye, optic: optic.id, asked: state.modalities });
  return rows.map(({ field, outcome }, i) => {
    const angle = Math.min(fields[i]?.[2] ?? optic.field_deg, fieldAngle(optic, state, eye, field.gaze_deg));
    return { id: field.id, name: field.name, cone: [angle, ...field.gaze_deg], status: outcome ?? "open" };
  });
}

/** Every frame of the eye that was taken, with whichever optic: what the pictures show so far. */
export function takenFields(pack: Pack, state: CaseState, eye: Eye): MapField[] {
  const found = new Map<string, MapField>();
  for (const { body } of state.frames) {
    const optic = pack.optics.find((o) => o.id === body.optic);
    if (body.eye !== eye || optic === undefined) continue;
    const key = `${body.optic} ${body.field} ${body.series_frame ?? ""} ${body.gaze_deg.join()}`;
    if (body.outcome !== "taken") {
      // the newest answer stands: a frame that turned out bad shows nothing
      found.delete(key);
      continue;
    }
    const cone: Cone = [fieldAngle(optic, state, eye, body.gaze_deg), ...body.gaze_deg];
    found.set(key, { id: key, name: body.field, cone, status: "taken" });
  }
  return [...found.values()];
}

export interface Filling {
  /** A flag for each cell: shown by a frame that was taken, by any that is planned. */
  shown: Uint8Array;
  planned: Uint8Array;
  /** Cells of the region that neither shows. */
  missing: Uint8Array;
  area_mm2: number;
  retina_fraction: number;
  region_fraction: Record<string, number>;
  planned_fraction: Record<string, number>;
}

export function fillingOf(
  retina: PhoneRetina,
  regions: readonly PackRegion[],
  taken: readonly Cone[],
  planned: readonly Cone[],
  region: string,
): Filling {
  const now = unionOf(retina, regions, taken);
  const all = planned.length === 0 ? now : unionOf(retina, regions, [...taken, ...planned]);
  const flags = (cells: readonly number[]): Uint8Array => {
    const flagged = new Uint8Array(retina.column.length);
    for (const i of cells) flagged[i] = 1;
    return flagged;
  };
  const shown = flags(now.cells);
  const either = flags(all.cells);
  const bit = regions.findIndex((r) => r.id === region);
  const missing = Uint8Array.from(retina.region_bits, (bits, i) =>
    bit >= 0 && ((bits >>> bit) & 1) === 1 && !either[i] ? 1 : 0,
  );
  return {
    shown,
    planned: either,
    missing,
    area_mm2: now.area_mm2,
    retina_fraction: now.retina_fraction,
    region_fraction: now.region_fraction,
    planned_fraction: all.region_fraction,
  };
}

const sectorCells = new WeakMap<PhoneRetina, Map<string, Map<string, number[]>>>();

/** Cells of each sector: the rings are the pack's regions, the hours are counted about the fovea. */
export function cellsOfSectors(
  retina: PhoneRetina,
  regions: readonly PackRegion[],
  eye: Eye,
): Map<string, number[]> {
  const kept = sectorCells.get(retina) ?? new Map<string, Map<string, number[]>>();
  sectorCells.set(retina, kept);
  const known = kept.get(eye);
  if (known) return known;
  const bitOf = (id: string): number => regions.findIndex((r) => r.id === id);
  const pole = bitOf("posterior_pole");
  const mid = bitOf("midperiphery");
  const has = (bits: number, bit: number): boolean => bit >= 0 && ((bits >>> bit) & 1) === 1;
  const cells = new Map<string, number[]>(SECTORS.map((s) => [s.id, []]));
  for (const [i, bits] of retina.region_bits.entries()) {
    const x = (retina.column[i] as number) + 0.5;
    const y = (retina.row[i] as number) + 0.5;
    const hour = hourOf(eye, x, y);
    const id = has(bits, pole) ? "centre" : has(bits, mid) ? `mid-${hour}` : `far-${hour}`;
    cells.get(id)?.push(i);
  }
  kept.set(eye, cells);
  return cells;
}

/** Share of each sector that is flagged; null for a sector without a cell. */
export function sectorShares(cells: Map<string, number[]>, flagged: Uint8Array): Map<string, number | null> {
  const shares = new Map<string, number | null>();
  for (const [id, list] of cells)
    shares.set(id, list.length === 0 ? null : list.filter((i) => flagged[i]).length / list.length);
  return shares;
}

/** A sector that frames show this much of counts as covered until somebody says otherwise. */
export const COVERED = 0.9;

export interface SectorStand {
  sector: Sector;
  share: number | null;
  /** As marked by a person, else as the frames say. */
  state: "covered" | "missing" | "dark";
  marked: boolean;
}

/** Each sector of one eye: what a person said of it last, else what the frames show. */
export function sectorStands(state: CaseState, eye: Eye, shares: Map<string, number | null>): SectorStand[] {
  const said = new Map(
    state.plan.sectors.filter(({ body }) => body.eye === eye).map(({ body }) => [body.sector, body.state]),
  );
  return SECTORS.filter((s) => shares.get(s.id) !== null).map((sector) => {
    const share = shares.get(sector.id) ?? null;
    const mark = said.get(sector.id);
    const seen = (share ?? 0) >= COVERED ? "covered" : "missing";
    return { sector, share, state: mark ?? seen, marked: mark !== undefined };
  });
}
