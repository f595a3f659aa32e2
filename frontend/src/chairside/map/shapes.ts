/** Outlines of the retina's map as paths of a drawing. Pure. */
import { type Cone, fieldOutline } from "../../kernel";
import type { Eye } from "../../log";
import type { PackRegion, PhoneRetina } from "../../types.gen";

export type Point = readonly [number, number];

/** Turns map points (x nasal, y up) into the drawing's, as the photographer faces the eye and as images show it. */
export function mirrored(eye: Eye): (point: Point) => [number, number] {
  const side = eye === "right" ? 1 : -1;
  return ([x, y]) => [side * x, -y];
}

const mm = (value: number): string => value.toFixed(2);

export function ringPath(points: readonly Point[], turn: (point: Point) => [number, number]): string {
  return `${points.map((p, i) => `${i === 0 ? "M" : "L"}${turn(p).map(mm).join(" ")}`).join("")}Z`;
}

export function regionPath(region: PackRegion, turn: (point: Point) => [number, number]): string {
  return region.rings.map((ring) => ringPath(ring, turn)).join("");
}

export function fieldPath(
  retina: PhoneRetina,
  field: Cone,
  turn: (point: Point) => [number, number],
): string {
  return ringPath(fieldOutline(retina, field), turn);
}

/** The cells' places row by row, each row by column: worked out once for a pack. */
const inRows = new WeakMap<PhoneRetina, Uint32Array>();

function cellsInRows(retina: PhoneRetina): Uint32Array {
  const known = inRows.get(retina);
  if (known) return known;
  const { row, column } = retina;
  const at = (list: readonly number[], i: number): number => list[i] as number;
  const places = Uint32Array.from(row.keys()).sort(
    (a, b) => at(row, a) - at(row, b) || at(column, a) - at(column, b),
  );
  inRows.set(retina, places);
  return places;
}

/** Cells as one path of rectangles: neighbours of a row are drawn as one. `wanted` has a flag for each cell. */
export function cellsPath(
  retina: PhoneRetina,
  wanted: Uint8Array,
  turn: (point: Point) => [number, number],
): string {
  const { row, column, spacing_mm } = retina;
  const high = mm(spacing_mm);
  let path = "";
  const draw = (first: number, last: number): void => {
    const y = (row[first] as number) * spacing_mm;
    const a = turn([(column[first] as number) * spacing_mm, y]);
    const b = turn([((column[last] as number) + 1) * spacing_mm, y + spacing_mm]);
    const wide = mm(Math.abs(b[0] - a[0]));
    path += `M${mm(Math.min(a[0], b[0]))} ${mm(Math.min(a[1], b[1]))}h${wide}v${high}h-${wide}z`;
  };
  let first = -1;
  let last = -1;
  for (const i of cellsInRows(retina)) {
    if (!wanted[i]) continue;
    if (last >= 0 && row[i] === row[last] && column[i] === (column[last] as number) + 1) {
      last = i;
      continue;
    }
    if (last >= 0) draw(first, last);
    first = i;
    last = i;
  }
  if (last >= 0) draw(first, last);
  return path;
}

/** What the drawing shows, with a margin: left, top, width, height. */
export function viewOf(retina: PhoneRetina, margin_mm: number): [number, number, number, number] {
  const xs = retina.ora.map(([x]) => Math.abs(x));
  const ys = retina.ora.map(([, y]) => y);
  // the same on both sides, so that right and left eyes stand alike on the page
  const half = Math.max(...xs) + margin_mm;
  const top = Math.max(...ys) + margin_mm;
  const bottom = Math.min(...ys) - margin_mm;
  return [-half, -top, 2 * half, top - bottom];
}
