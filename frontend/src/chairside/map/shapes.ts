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

/** Cells as one path of rectangles: neighbours of a row are drawn as one. `wanted` has a flag for each cell. */
export function cellsPath(
  retina: PhoneRetina,
  wanted: Uint8Array,
  turn: (point: Point) => [number, number],
): string {
  const rows = new Map<number, number[]>();
  for (const [i, row] of retina.row.entries()) {
    if (!wanted[i]) continue;
    const columns = rows.get(row);
    if (columns) columns.push(retina.column[i] as number);
    else rows.set(row, [retina.column[i] as number]);
  }
  const { spacing_mm } = retina;
  let path = "";
  for (const [row, columns] of rows) {
    columns.sort((a, b) => a - b);
    for (let i = 0; i < columns.length; ) {
      const from = columns[i] as number;
      let to = from;
      while (columns[i + 1] === to + 1) {
        i += 1;
        to += 1;
      }
      i += 1;
      const a = turn([from * spacing_mm, row * spacing_mm]);
      const b = turn([(to + 1) * spacing_mm, (row + 1) * spacing_mm]);
      const left = Math.min(a[0], b[0]);
      const top = Math.min(a[1], b[1]);
      path += `M${mm(left)} ${mm(top)}h${mm(Math.abs(b[0] - a[0]))}v${mm(spacing_mm)}h${mm(-Math.abs(b[0] - a[0]))}z`;
    }
  }
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
