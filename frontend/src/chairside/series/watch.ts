/**
 * Looks at the clocks of every case in hand whose dye has been given, on whatever screen: shows them, keeps their
 * readings, and calls when a frame comes or waits. One for the page, begun with the part of the app that holds it.
 */
import { effect, signal } from "@preact/signals";
import { type CaseState, running } from "../../log";
import type { Held } from "../../pack";
import type { Pack } from "../../types.gen";
import { app, isLocked } from "../app";
import { record } from "../record";
import { casesInHand } from "../wiring";
import { clocksOf, type DyeClock, unsaid } from "./clocks";
import { type Course, courseOf, layoutOf, lineNow, type SeriesFrame } from "./course";
import { cues, give, readySound, say } from "./cues";
import { forgetReadings, readingsNow } from "./keeping";
import { asksToDrawBack } from "./moves";
import { cueBetween } from "./timing";
import { secondsSinceDye } from "./told";
import { spokenFrame } from "./words";

/** How often the clocks are looked at; a cue is as late as this at worst. */
const LOOK_MS = 200;

/** A case whose dye has been given. */
export interface Timed {
  state: CaseState;
  held: Held | null;
  clocks: DyeClock[];
  /** Null while no layout is for this case, or its guidance is not read in. */
  course: Course | null;
  /** Seconds on the line of the layout; null while the clock that it counts by is uncertain. */
  now_s: number | null;
}

export const timed = signal<Timed[]>([]);

/** Where each case's line stood when it was last looked at, for the cues in between. */
const lookedAt = new Map<string, number>();
/** The frame that comes, as last looked at. */
const comes = new Map<string, string | null>();
const packs = new Map<string, Held | null>();
/** Uncertain clocks whose line is on its way: said once, not five times a second. */
const saying = new Set<string>();

/** The pack that a case goes by, once it is read in. */
function heldFor(state: CaseState): Held | null {
  const current = app.shelf.current.peek();
  if (state.pack === null || current?.sha256 === state.pack) return current;
  const known = packs.get(state.pack);
  if (known === undefined) {
    const sha = state.pack;
    packs.set(sha, null);
    app.shelf.packFor(sha).then(
      (held) => packs.set(sha, held),
      () => packs.delete(sha), // asked for again at the next look
    );
  }
  return known ?? current;
}

function look(): void {
  // what is known of a case then has no course to call; the locked page keeps the clocks
  if (isLocked()) {
    if (timed.peek().length > 0) timed.value = [];
    return;
  }
  const device = app.log.device.peek()?.id ?? null;
  const mine = casesInHand(app.log.cases.peek(), device).filter((c) => c.dye.injected.length > 0);
  if (mine.length === 0) {
    if (!app.log.cases.peek().some(running)) forgetReadings();
    if (timed.peek().length > 0) timed.value = [];
    return;
  }
  const readings = readingsNow();
  const told: Record<string, Record<string, number | null>> = {};
  timed.value = mine.map((state) => {
    const held = heldFor(state);
    const clocks = clocksOf(held?.pack ?? null, state, device, readings);
    told[state.id] = Object.fromEntries(clocks.map((clock) => [clock.dye, clock.seconds]));
    for (const clock of clocks) if (unsaid(state, clock)) void sayUncertain(state, clock);
    const layout = held === null ? null : layoutOf(held.pack, state);
    const course = held === null || layout === null ? null : courseOf(held.pack, layout, state, clocks);
    const now_s = course === null ? null : lineNow(course.layout, clocks);
    if (held !== null && course !== null && now_s !== null) call(held.pack, state, course, now_s);
    return { state, held, clocks, course, now_s };
  });
  secondsSinceDye.value = told;
}

/** Calls what fell due since the last look. */
function call(pack: Pack, state: CaseState, course: Course, now_s: number): void {
  const from = lookedAt.get(state.id);
  lookedAt.set(state.id, now_s);
  const { current } = course;
  const before = comes.get(state.id);
  const comesNow = course.running === null ? (current?.id ?? null) : null;
  comes.set(state.id, comesNow);
  if (
    before !== undefined &&
    before !== comesNow &&
    current !== null &&
    comesNow !== null &&
    !course.stopped
  ) {
    tellNext(course, current, pack);
  }
  if (from === undefined || course.stopped || course.running !== null || current === null) return;
  const next = { id: current.id, name: spokenFrame(current), start_s: course.call_s };
  const given = cueBetween(next, from, now_s);
  if (given !== null) give(given.cue, given.words);
}

/** Says what comes once a frame is answered, with the drawing back before it: the eyes are on the instrument. */
function tellNext(course: Course, current: SeriesFrame, pack: Pack): void {
  if (!cues.peek().speech) return;
  const draws = asksToDrawBack(course.before, current, pack) === null ? "Next" : "Draw back first. Next";
  say(`${draws}: ${spokenFrame(current)}`);
}

/** Both witnesses failed: that, and what each says, is a line of the case. */
async function sayUncertain(state: CaseState, clock: DyeClock): Promise<void> {
  const key = `${state.id} ${clock.dye}`;
  if (saying.has(key)) return;
  saying.add(key);
  const { dye, wall_s, mono_s } = clock;
  await record("clock.uncertain", { dye, wall_s, mono_s, agreed_s: null, by: "" }, { case: state.id });
  saying.delete(key);
}

/** Seconds since a dye was given, at this moment; null while they are uncertain, or it was not given. */
export function secondsNow(id: string, modality: DyeClock["modality"]): number | null {
  look();
  const one = timed.peek().find(({ state }) => state.id === id);
  return one?.clocks.find((clock) => clock.modality === modality)?.seconds ?? null;
}

let stop: (() => void) | null = null;

/** Begins to look; once for the page. */
export function startWatch(): void {
  if (stop !== null) return;
  const timer = setInterval(look, LOOK_MS);
  document.addEventListener("visibilitychange", look);
  document.addEventListener("pointerdown", readySound);
  // a line that was just written is shown at once
  const follow = effect(() => {
    void app.log.cases.value;
    look();
  });
  stop = () => {
    clearInterval(timer);
    follow();
    document.removeEventListener("visibilitychange", look);
    document.removeEventListener("pointerdown", readySound);
  };
}
