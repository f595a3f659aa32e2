/** What is left, laid anew from where the series stands: the kernel asked at the right moments, and its answers kept. */
import { signal } from "@preact/signals";
import { nextFrames } from "../../kernel";
import { asItCame, type CaseState } from "../../log";
import type { FrameTaken, Layout, NextFrames, Pace, SeriesBurst } from "../../types.gen";
import type { DyeClock } from "./clocks";
import type { SeriesFrame } from "./course";

/** Seconds on the line: when each frame that can be kept is to begin, and when the first of them was called for. */
export interface Relaid {
  order: string[];
  due_s: Map<string, number>;
  /** Can no longer be begun; could be taken, but not with the others. */
  shut: string[];
  crowded: string[];
  relaid: boolean;
  slack_s: number | null;
  call_s: number | null;
}

/** The order that each case follows, so that it stays while it can be kept. */
const followed = new Map<string, string[]>();
const answers = new Map<string, { state: CaseState; second: number; at: string | null; answer: Relaid }>();

/** The frame that the hands have been brought to and that is not taken yet, by case: no move comes before it. */
const place = signal<Record<string, string>>({});

export function placed(id: string, frame: string): void {
  place.value = { ...place.value, [id]: frame };
}

/** The open frame that the hands are at, if they were brought to one since the last frame. */
export function placedFor(state: CaseState, frames: readonly SeriesFrame[]): SeriesFrame | null {
  const id = place.value[state.id];
  return (
    frames.find((frame) => frame.id === id && (frame.status === "open" || frame.status === "again")) ?? null
  );
}

type Since = Partial<Record<DyeClock["modality"], number>>;

function sinceEach(clocks: readonly DyeClock[], later_s = 0): Since {
  return Object.fromEntries(
    clocks.flatMap((c) => (c.seconds === null ? [] : [[c.modality, c.seconds + later_s]])),
  );
}

type Answered = CaseState["frames"][number] | CaseState["bursts"][number];

/** The newest line that moved the hands: a frame that was shot, or a burst. */
function lastShot(state: CaseState, ids: ReadonlySet<string>): string | null {
  const shot = asItCame<Answered>(state, [...state.frames, ...state.bursts])
    .map(({ body }) => idOf(body))
    .filter((id): id is string => id !== null && ids.has(id));
  return shot.at(-1) ?? null;
}

function idOf(body: FrameTaken | SeriesBurst): string | null {
  if ("frames" in body) return body.frames[0] ?? null;
  return body.outcome === "missed" ? null : (body.series_frame ?? null);
}

/** How long ago the newest answer was, by the clock of its own dye; null where none has a time. */
function answeredAgo(
  state: CaseState,
  frames: readonly SeriesFrame[],
  clocks: readonly DyeClock[],
): number | null {
  const last = asItCame<Answered>(state, [...state.frames, ...state.bursts])
    .filter(({ body }) => body.dye_s !== null && body.dye_s !== undefined)
    .at(-1)?.body;
  if (last === undefined) return null;
  const id = "frames" in last ? last.frames[0] : last.series_frame;
  const frame = frames.find((one) => one.id === id);
  const clock = clocks.find((one) => one.modality === frame?.dye);
  if (frame === undefined || clock === undefined || clock.seconds === null) return null;
  // a burst that nobody ended ran to the end of its window
  const until = "frames" in last && last.state === "started" ? frame.to_s : (last.dye_s as number);
  return Math.max(0, clock.seconds - until);
}

/** Null while no clock tells the time. `now_s` on the line. The kernel is asked at most once a second. */
export function relaidAt(
  pace: Pace,
  layout: Layout,
  state: CaseState,
  frames: readonly SeriesFrame[],
  clocks: readonly DyeClock[],
  now_s: number | null,
): Relaid | null {
  if (now_s === null || clocks.some((clock) => clock.seconds === null)) return null;
  const key = `${state.id} ${layout.id}`;
  const second = Math.floor(now_s);
  const at = placedFor(state, frames)?.id ?? null;
  const kept = answers.get(key);
  if (kept?.state === state && kept.second === second && kept.at === at) return kept.answer;
  const answer = ask(pace, layout, state, frames, clocks, now_s, key);
  answers.set(key, { state, second, at, answer });
  followed.set(key, answer.order);
  return answer;
}

function ask(
  pace: Pace,
  layout: Layout,
  state: CaseState,
  frames: readonly SeriesFrame[],
  clocks: readonly DyeClock[],
  now_s: number,
  key: string,
): Relaid {
  const open = (frame: SeriesFrame): boolean => frame.status === "open" || frame.status === "again";
  const done = frames.filter((frame) => !open(frame)).map((frame) => frame.id);
  // another pack may stand in for the case's own, and its layout of this name may have other frames
  const known = new Set(frames.map((frame) => frame.id));
  const order = (followed.get(key) ?? []).filter((id) => known.has(id) && !done.includes(id));
  const last = placedFor(state, frames)?.id ?? lastShot(state, known);
  const running = frames.find((frame) => frame.status === "running");
  const runs = clocks.find((clock) => clock.modality === running?.dye)?.seconds ?? null;
  // nothing else begins before the burst is over
  const later_s = running === undefined || runs === null ? 0 : Math.max(0, running.to_s - runs);
  const next: NextFrames = nextFrames(layout, pace, {
    since: sinceEach(clocks, later_s),
    order,
    done,
    last,
  });
  const due_s = new Map(next.coming.map(({ id, begin_s }) => [id, now_s + later_s + begin_s]));
  const first = next.coming[0];
  return {
    order: next.coming.map(({ id }) => id),
    due_s,
    shut: next.shut,
    crowded: next.crowded,
    relaid: next.relaid,
    slack_s: next.slack_s,
    call_s: first === undefined ? null : calledFor(first.id),
  };

  /** When the hands were free for it: as the kernel answers at the moment of the newest answer, or of the injection. */
  function calledFor(id: string): number {
    const zero = clocks.map((clock) => clock.seconds ?? 0);
    const ago = later_s > 0 ? 0 : (answeredAgo(state, frames, clocks) ?? Math.min(...zero));
    const then = nextFrames(layout, pace, {
      since: sinceEach(clocks, later_s > 0 ? later_s : -ago),
      order: [id],
      done: [...done, ...frames.filter((f) => f.id !== id && !done.includes(f.id)).map((f) => f.id)],
      last,
    }).coming[0];
    return then === undefined
      ? (due_s.get(id) ?? now_s)
      : now_s + (later_s > 0 ? later_s : -ago) + then.begin_s;
  }
}
