/**
 * What fields show of the retina: which of the pack's equal-area cells, how much retina, how much of each region;
 * and where a direction and a field's outline lie on the flat map. The counterpart of the reference model.
 *
 * A field is [full angle, gaze H nasal+, gaze V up+], degrees. Map: mm, x nasal, y up, the fovea at 0, 0; equal areas
 * of retina are equal areas of map. Both eyes share it: only the picture of a left eye is mirrored.
 */
import type { CellVector, Pack, PackRegion, PhoneRetina } from "../types.gen";
import { RAD } from "./pose";

export type Cone = readonly [field_deg: number, h_deg: number, v_deg: number];
export type MapPoint = [x_mm: number, y_mm: number];
type Vector = readonly [number, number, number];

export interface CellUnion {
  /** Places of the cells in the pack's list, rising. */
  cells: number[];
  area_mm2: number;
  retina_fraction: number;
  region_fraction: Record<string, number>;
}

/** A cell on the very edge of a field is in it, whatever the last bit of a cosine says. */
const TIE = 1e-9;

/** Fields whose cells are kept: more than a case has. */
const KEPT = 200;

type Frame = readonly [nasal: Vector, up: Vector, forward: Vector];

/**
 * What is worked out once for a pack: three numbers a cell that rays reach, which cells a field shows, and how the eye
 * stands. A map is drawn anew for each frame that is taken: its fields stay.
 */
interface Ready {
  readonly cell: Float64Array;
  readonly shows: Map<string, Uint32Array>;
  readonly axis: Frame;
  readonly fovea: Frame;
}
const ready = new WeakMap<PhoneRetina, Ready>();

function direction(h_deg: number, v_deg: number): Vector {
  const h = h_deg * RAD;
  const v = v_deg * RAD;
  return [Math.sin(h) * Math.cos(v), Math.sin(v), Math.cos(h) * Math.cos(v)];
}

function readyFor(retina: PhoneRetina): Ready {
  let found = ready.get(retina);
  if (!found) {
    const cell = new Float64Array(retina.h_deg.length * 3);
    for (const [i, h_deg] of retina.h_deg.entries()) cell.set(direction(h_deg, retina.v_deg[i] ?? 0), i * 3);
    const axis = frameOf(direction(...retina.axis_deg));
    found = { cell, shows: new Map(), axis, fovea: frameOf(placeOf(retina, axis, [0, 0, 1])) };
    ready.set(retina, found);
  }
  return found;
}

/** Places of the cells that a field shows, rising. */
function cellsOf(retina: PhoneRetina, field: Cone): Uint32Array {
  const { cell, shows } = readyFor(retina);
  const key = field.join();
  const known = shows.get(key);
  if (known) return known;
  const [x, y, z] = direction(field[1], field[2]);
  const least = Math.cos((field[0] / 2) * RAD) - TIE;
  const found: number[] = [];
  for (let i = 0, at = 0; at < cell.length; i += 1, at += 3) {
    if ((cell[at] as number) * x + (cell[at + 1] as number) * y + (cell[at + 2] as number) * z >= least)
      found.push(i);
  }
  if (shows.size >= KEPT) shows.clear();
  const cells = Uint32Array.from(found);
  shows.set(key, cells);
  return cells;
}

/** One flag a cell, 1 where any of the fields shows it. */
export function shownBy(retina: PhoneRetina, fields: readonly Cone[]): Uint8Array {
  const shown = new Uint8Array(retina.column.length);
  for (const field of fields) for (const i of cellsOf(retina, field)) shown[i] = 1;
  return shown;
}

/** What fields show together, counted in cells. */
export function unionOf(
  retina: PhoneRetina,
  regions: readonly PackRegion[],
  fields: readonly Cone[],
): CellUnion {
  const shown = shownBy(retina, fields);
  const { region_bits } = retina;
  const cells: number[] = [];
  const all = new Uint32Array(regions.length);
  const seen = new Uint32Array(regions.length);
  for (let i = 0; i < region_bits.length; i += 1) {
    const bits = region_bits[i] as number;
    const flag = shown[i] as number;
    if (flag) cells.push(i);
    for (let bit = 0; bit < regions.length; bit += 1) {
      const within = (bits >>> bit) & 1;
      all[bit] = (all[bit] as number) + within;
      seen[bit] = (seen[bit] as number) + (within & flag);
    }
  }
  return {
    cells,
    area_mm2: cells.length * retina.area_mm2,
    retina_fraction: cells.length / region_bits.length,
    region_fraction: Object.fromEntries(
      regions.map((region, bit) => [region.id, (seen[bit] as number) / Math.max(1, all[bit] as number)]),
    ),
  };
}

/** Rows nasal, up, forward about a unit vector, with nasal level. */
function frameOf([x, y, z]: Vector): Frame {
  const level = Math.hypot(x, z);
  const nasal: Vector = [z / level, 0, -x / level];
  const up: Vector = [y * nasal[2], z * nasal[0] - x * nasal[2], -y * nasal[0]];
  return [nasal, up, [x, y, z]];
}

const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

/** Place on the retina's sphere (optic axis forward) that the ray of a viewing direction reaches. */
function placeOf(retina: PhoneRetina, [nasal, up, axis]: Frame, seen: Vector): Vector {
  const x = dot(seen, nasal);
  const y = dot(seen, up);
  const aside = Math.hypot(x, y);
  const external = Math.atan2(aside, dot(seen, axis)) / RAD;
  const central = centralOf(retina, external) * RAD;
  if (aside === 0) return [0, 0, Math.cos(central)];
  return [(Math.sin(central) * x) / aside, (Math.sin(central) * y) / aside, Math.cos(central)];
}

/** Central angle of an external one; past the table it goes on evenly, so that an outline stays one ring. */
function centralOf(retina: PhoneRetina, external_deg: number): number {
  const { central_deg, step_deg } = retina;
  const last = central_deg.length - 1;
  const widest = central_deg[last] ?? 0;
  const end = last * step_deg;
  if (external_deg >= end) return widest + ((external_deg - end) * (180 - widest)) / (180 - end);
  const i = Math.floor(external_deg / step_deg);
  const low = central_deg[i] ?? 0;
  return low + (external_deg / step_deg - i) * ((central_deg[i + 1] ?? low) - low);
}

/** Where a viewing direction lies on the map. */
function flat(retina: PhoneRetina, seen: Vector): MapPoint {
  const { axis, fovea } = readyFor(retina);
  const place = placeOf(retina, axis, seen);
  const [nasal, up, forward] = fovea;
  const scale = retina.radius_mm * Math.sqrt(2 / Math.max(1 + dot(place, forward), 1e-12));
  return [dot(place, nasal) * scale, dot(place, up) * scale];
}

/** Where the middle of a frame lies on the map. */
export function mapPoint(retina: PhoneRetina, h_deg: number, v_deg: number): MapPoint {
  return flat(retina, direction(h_deg, v_deg));
}

/** A field's outline on the map, from nasal upward, evenly round its cone. Clip it by `retina.reach` to draw it. */
export function fieldOutline(retina: PhoneRetina, field: Cone, corners = 90): MapPoint[] {
  const [nasal, up, forward] = frameOf(direction(field[1], field[2]));
  const out = Math.sin((field[0] / 2) * RAD);
  const along = Math.cos((field[0] / 2) * RAD);
  return Array.from({ length: corners }, (_, i) => {
    const x = out * Math.cos((i * 2 * Math.PI) / corners);
    const y = out * Math.sin((i * 2 * Math.PI) / corners);
    const at = (k: 0 | 1 | 2): number => nasal[k] * x + up[k] * y + forward[k] * along;
    return flat(retina, [at(0), at(1), at(2)]);
  });
}

const AREA_MM2 = 1e-4;
const FRACTION = 1e-6;
/** Between entries of its shorter table a phone's outline may stray this far, mm. */
const OUTLINE_MM = 0.005;

/** Words for each disagreement with the pack's reference; empty when there is none. */
export function checkCells(pack: Partial<Pick<Pack, "retina" | "regions" | "cell_vectors">>): string[] {
  const { retina, regions = [], cell_vectors = [] } = pack;
  // a pack of before the retina was mapped has none of this, and nothing is drawn from it
  if (!retina) return [];
  if (cell_vectors.length === 0) return ["the pack carries no check vectors for the retina"];
  if (retina.v_deg.length !== retina.h_deg.length || retina.region_bits.length !== retina.column.length)
    return ["the pack's cells of the retina are lists of different lengths"];
  return cell_vectors.flatMap((vector, i) =>
    differences(retina, regions, vector).map((why) => `retina, check ${i + 1}: ${why}`),
  );
}

function differences(retina: PhoneRetina, regions: readonly PackRegion[], vector: CellVector): string[] {
  const faults: string[] = [];
  const near = (what: string, got: number, wanted: number, within: number): void => {
    if (!(Math.abs(got - wanted) <= within)) faults.push(`${what} is ${got} here and ${wanted} in the pack`);
  };
  const found = unionOf(retina, regions, vector.fields);
  near("the number of cells", found.cells.length, vector.count, 0);
  near(
    "the sum of their places",
    found.cells.reduce((sum, at) => sum + at, 0),
    vector.place_sum,
    0,
  );
  near("the area (mm²)", found.area_mm2, vector.area_mm2, AREA_MM2);
  near("the fraction of the retina", found.retina_fraction, vector.retina_fraction, FRACTION);
  for (const [id, fraction] of Object.entries(vector.region_fraction))
    near(`the fraction of '${id}'`, found.region_fraction[id] ?? Number.NaN, fraction, FRACTION);
  const [first] = vector.fields;
  if (first) {
    const outline = fieldOutline(retina, first, vector.outline.length);
    for (const [i, [x, y]] of vector.outline.entries())
      near(
        "an outline (mm off)",
        Math.hypot((outline[i]?.[0] ?? Number.NaN) - x, (outline[i]?.[1] ?? Number.NaN) - y),
        0,
        OUTLINE_MM,
      );
  }
  return faults;
}
