/**
 * The sectors of a retina as they are checked off: the centre, and two rings by the hours of the clock. Hours run as
 * the photographer faces the eye, so that a right eye's nasal side is at 3 o'clock and a left eye's at 9: the usual
 * way to name a place of the retina (common practice, no source).
 */
import type { Eye } from "../../log";

export type Ring = "mid" | "far";

export interface Sector {
  id: string;
  ring: Ring | null;
  /** 1 to 12; 0 for the centre. */
  hour: number;
}

export const HOURS = [12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11] as const;

export const SECTORS: readonly Sector[] = [
  { id: "centre", ring: null, hour: 0 },
  ...(["mid", "far"] as const).flatMap((ring) =>
    HOURS.map((hour) => ({ id: `${ring}-${hour}`, ring, hour })),
  ),
];

/** Direction of an hour, unit vector: x nasal, y up. */
export function hourDirection(eye: Eye, hour: number): [number, number] {
  const turn = (hour / 12) * 2 * Math.PI;
  const right = Math.sin(turn); // toward 3 o'clock, as the photographer sees it
  return [eye === "right" ? right : -right, Math.cos(turn)];
}

/**
 * The hour that a direction lies in, as the sweep's model has it. A diagonal lies halfway between two hours and counts
 * as the one nearer to the horizontal, so that both eyes and both halves mirror.
 */
export function hourOf(eye: Eye, nasal: number, up: number): number {
  const right = eye === "right" ? nasal : -nasal;
  if (right !== 0 && Math.abs(right) === Math.abs(up)) return right > 0 ? (up > 0 ? 2 : 4) : up > 0 ? 10 : 8;
  const hour = Math.round(((Math.atan2(right, up) / (2 * Math.PI)) * 12 + 12) % 12) % 12;
  return hour === 0 ? 12 : hour;
}

function sectorOf(id: string): Sector | null {
  return SECTORS.find((s) => s.id === id) ?? null;
}

const RING: Record<Ring, string> = { mid: "middle ring", far: "far ring" };

/** "3 o'clock, far ring (nasal)". */
export function sectorWords(eye: Eye, id: string): string {
  const sector = sectorOf(id);
  if (sector === null) return id;
  if (sector.ring === null) return "Centre";
  return `${sector.hour} o'clock, ${RING[sector.ring]} (${sideWords(eye, sector.hour)})`;
}

/** Upper, lower, nasal or temporal, as the hour lies. */
export function sideWords(eye: Eye, hour: number): string {
  const [nasal, up] = hourDirection(eye, hour);
  const side = nasal > 0.3 ? "nasal" : nasal < -0.3 ? "temporal" : "";
  const height = up > 0.3 ? "upper" : up < -0.3 ? "lower" : "";
  return [height, side].filter(Boolean).join(" ");
}
