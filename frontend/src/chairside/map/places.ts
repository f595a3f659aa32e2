/** From a point of the map to its sector, and from sectors to the cells that they are drawn by. Pure. */
import type { Eye } from "../../log";
import type { PhoneRetina } from "../../types.gen";
import { hourOf } from "./sectors";

/** Cells of the sectors that a person marked as too dark; null where there is none. */
export function darkCells(
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
export function sectorAt(
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
