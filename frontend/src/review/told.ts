/** What a line becomes when it is told: a title, how it weighs, and rows of what it holds. */

export type Row = [label: string, value: string];
export type Tone = "plain" | "pose" | "comfort" | "caution" | "danger" | "waiting";
export interface Telling {
  title: string;
  tone: Tone;
  rows: Row[];
}

export const yes = (value: boolean | undefined): string => (value ? "yes" : "no");

export const told = (title: string, rows: (Row | null)[] = [], tone: Tone = "plain"): Telling => ({
  title,
  tone,
  rows: rows.filter((row) => row !== null),
});

/** A row only where something was said. */
export const row = (label: string, value: string | null | undefined): Row | null =>
  value ? [label, value] : null;
