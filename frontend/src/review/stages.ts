/** A case cut into its stages, as the craft page times them, and which of its moments matter to whoever judges it. */

import type { BodyOf, TimelineEntry } from "../types.gen";
import { isDeskLine } from "./standing";
import type { Beat } from "./story";

export type StageId = "opening" | "optic" | "dye" | "finish" | "after" | "desk";

export const STAGE_TITLES: Record<StageId, string> = {
  opening: "Until the first optic",
  optic: "From the first optic on",
  dye: "From the first dye to the last frame",
  finish: "After the last frame",
  after: "After closing",
  desk: "At the desk",
};

/** Beats that stand open one by one, and between them runs that are folded. */
export type Run = { open: true; beat: Beat } | { open: false; beats: Beat[] };

export interface Stage {
  id: StageId;
  count: number;
  from: number;
  to: number;
  runs: Run[];
}

/**
 * Stages in the order of the case; one without a line is left out. The desk's own lines come last, by themselves.
 * `line` is the one that is looked for.
 */
export function stagesOf(beats: readonly Beat[], line: string | null): Stage[] {
  const phones = beats.filter((beat) => !isDeskLine(beat.entry.type));
  const desk = beats.filter((beat) => isDeskLine(beat.entry.type));
  const starts: [StageId, number][] = [
    ["opening", 0],
    ["optic", phones.findIndex((beat) => stands(beat, "optic.chosen"))],
    ["dye", phones.findIndex((beat) => stands(beat, "dye.injected"))],
    ["finish", after(phones, (beat) => stands(beat, "frame.taken") && outcomeOf(beat) === "taken")],
    ["after", after(phones, (beat) => stands(beat, "case.closed"))],
  ];
  const cuts: [StageId, number][] = [];
  for (const [id, at] of starts) {
    // what is not there, or stands before what should precede it, begins no stage
    if (at >= (cuts.at(-1)?.[1] ?? 0)) cuts.push([id, at]);
  }
  const parts = cuts.map(([id, at], place): [StageId, Beat[]] => [
    id,
    phones.slice(at, cuts[place + 1]?.[1]),
  ]);
  return [...parts, ["desk", desk] satisfies [StageId, Beat[]]]
    .filter(([, part]) => part.length > 0)
    .map(([id, part]) => ({
      id,
      count: part.length,
      from: part[0]?.entry.at ?? 0,
      to: part.at(-1)?.entry.at ?? 0,
      runs: runsOf(part, (beat) => beat.entry.id === line || (id !== "desk" && matters(beat))),
    }));
}

const stands = (beat: Beat, type: TimelineEntry["type"]): boolean =>
  beat.entry.type === type && !beat.withdrawn;

const outcomeOf = (beat: Beat): unknown => beat.entry.body?.outcome;

/** The place after the last one that is so; -1 where none is. */
function after(beats: readonly Beat[], is: (beat: Beat) => boolean): number {
  const last = beats.findLastIndex(is);
  return last < 0 ? -1 : last + 1;
}

/**
 * What stands open: safety events, reactions and their signs, dye given, a pose that was not as advised or touched,
 * comfort, what was not done or not as it should be, doubts, amendments and what they amend, lines that this version
 * cannot read.
 */
export function matters(beat: Beat): boolean {
  const { entry, telling } = beat;
  if (beat.amends !== null || entry.amended_by !== null) return true;
  if (entry.type === "dye.injected") return true;
  if (entry.type === "pose.found" && entry.body) {
    const found = entry.body as unknown as BodyOf["pose.found"];
    return found.touched === true || found.outcome !== "as_advised";
  }
  return telling.tone !== "plain" && telling.tone !== "pose";
}

function runsOf(beats: readonly Beat[], open: (beat: Beat) => boolean): Run[] {
  const runs: Run[] = [];
  for (const beat of beats) {
    const last = runs.at(-1);
    if (open(beat)) runs.push({ open: true, beat });
    else if (last?.open === false) last.beats.push(beat);
    else runs.push({ open: false, beats: [beat] });
  }
  return runs;
}
