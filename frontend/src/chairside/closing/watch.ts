/** How long this patient is watched, by what happened. Pure; the minutes are the clinic's own. */
import { type ClockReading, secondsSince } from "../../kernel/clock";
import type { CaseState } from "../../log";
import type { Pack, WatchRule } from "../../types.gen";

export type Happened = WatchRule["happened"];

const NAUSEA = new Set(["nausea", "vomiting"]);
const NO_SIGN = new Set(["none_seen"]);
const LEAK = "leak_at_needle";
const FAINT = "faint";
const REACTION = "dye_reaction";

/** What happened, in the terms of the pack's rules. A near miss never happened to the patient. */
export function happened(state: CaseState): Set<Happened> {
  const found = new Set<Happened>();
  if (state.dye.injected.length > 0) found.add("injected");
  if (state.flags.includes("child")) found.add("child");
  if (state.dye.leaks.some((l) => l.body.leak)) found.add("leak");
  if (state.comfort.some((c) => c.body.bothers.includes("nausea"))) found.add("nausea");
  for (const { body } of state.safety) {
    if (body.reached_patient === false) continue;
    if (body.what === LEAK) found.add("leak");
    if (body.what === FAINT) found.add("faint");
    const signs = body.signs.filter((s) => !NO_SIGN.has(s));
    if (signs.some((s) => NAUSEA.has(s))) found.add("nausea");
    // a reaction of which no sign is told counts as one: what is not known is not nothing
    if (body.what === REACTION && (signs.length === 0 || signs.some((s) => !NAUSEA.has(s))))
      found.add("reaction");
  }
  // a series that ended because everything is had says nothing of the patient; not said counts as for their sake
  const forPatient = state.seriesStopped.some((s) => s.body.for_patient !== false);
  if (forPatient && found.has("injected")) found.add("stopped");
  for (const { signs, actions, readings, ended } of state.reactions) {
    // the page was opened and put away again, and nothing was seen, done or read
    if (ended !== null && signs.size + actions.length + readings.length === 0) continue;
    const seen = [...signs.keys()];
    found.add(seen.length > 0 && seen.every((s) => NAUSEA.has(s)) ? "nausea" : "reaction");
  }
  return found;
}

export interface WatchPlan {
  minutes: number;
  /** The rules that hold, the longest first. */
  rules: WatchRule[];
  /** When the last injection was pressed, wall clock. */
  since: number;
}

/** Null where nothing was injected, or the pack has no rule for what happened: then the clinic's paper says. */
export function watchPlan(pack: Pack, state: CaseState): WatchPlan | null {
  const since = Math.max(...state.dye.injected.map((i) => i.body.pressed_at));
  const what = happened(state);
  const rules = (pack.watch?.rules ?? [])
    .filter((r) => what.has(r.happened))
    .sort((a, b) => b.minutes - a.minutes);
  const longest = rules[0];
  if (!Number.isFinite(since) || longest === undefined) return null;
  return { minutes: longest.minutes, rules, since };
}

/** Seconds since the last injection. Where the phone's clocks cannot tell, the fewer of what they say: a watch that is
 * too long does no harm. */
export function watched(
  state: CaseState,
  device: string | null,
  readings: readonly ClockReading[],
): { seconds: number; certain: boolean } {
  const clocks = state.dye.injected.map(({ body, boot, device: by }) =>
    secondsSince(
      { at: body.pressed_at, mono: body.pressed_mono, boot, seconds: 0, foreign: by !== device },
      readings,
    ),
  );
  const least = clocks.map((c) => c.seconds ?? Math.min(c.wall_s, c.mono_s));
  return { seconds: Math.min(...least), certain: clocks.every((c) => c.seconds !== null) };
}

/** Milliseconds that are left; below zero once it is over. */
export function leftMs(plan: WatchPlan, seconds: number): number {
  return (plan.minutes * 60 - seconds) * 1000;
}
