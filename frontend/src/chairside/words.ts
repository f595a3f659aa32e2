/** Words that several screens share. */
import type { CaseState, Eye } from "../log";

export const EYE_WORD: Record<Eye, string> = { right: "Right eye", left: "Left eye" };

export const MODALITY_WORD: Record<CaseState["modalities"][number], string> = {
  colour: "Colour",
  fluorescein: "Fluorescein",
  indocyanine_green: "Indocyanine green",
};

export function eyesWord(eyes: readonly Eye[]): string {
  if (eyes.length === 0) return "No eye stated";
  return eyes.length > 1 ? "Both eyes" : EYE_WORD[eyes[0] ?? "right"];
}

/** `8 min`, `3 h 20 min`, `2 days`: how long, in the largest units that say enough. */
export function span(ms: number): string {
  const minutes = Math.floor(Math.max(0, ms) / 60_000);
  if (minutes < 1) return "under 1 min";
  if (minutes < 60) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 24) return minutes % 60 ? `${hours} h ${minutes % 60} min` : `${hours} h`;
  const days = Math.floor(hours / 24);
  return days === 1 ? "1 day" : `${days} days`;
}

/** A time of day, with the date where it is not today. */
export function clock(at: number, now: number = Date.now()): string {
  const then = new Date(at);
  const time = then.toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  if (then.toDateString() === new Date(now).toDateString()) return time;
  return `${then.toLocaleDateString(undefined, { day: "numeric", month: "short" })}, ${time}`;
}

export function count(n: number, one: string, many: string): string {
  return `${n} ${n === 1 ? one : many}`;
}
