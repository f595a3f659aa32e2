/**
 * What to take next, and when. Counterpart of `model/series/next_frame.py`; the pack's `next_frame_vectors` hold the
 * two together.
 *
 * HOW TO USE IT
 *   nextFrames(layout, pace, progress) -> { coming, shut, crowded, relaid, slack_s }
 * `progress.since`: seconds since the injection of each dye that was given. `order`: the ids in the order that is
 * followed: `coming.map(c => c.id)` of the last answer, empty at first. `done`: taken or given up. `last`: the frame
 * taken last. All times in the answer are seconds from now: `move_s` to begin the moves to it, `begin_s` to begin it,
 * `shut_s` until it can no longer be begun. `shut`: out of reach by now (log them as missed). `crowded`: could be
 * taken, but not with the others. `relaid`: the order is a new one. `slack_s`: how late the next may begin with all
 * the others still kept. A frame to be taken again is simply not put into `done`.
 */
import type { LaidFrame, Layout, NextFrames, Pace, SeriesProgress } from "../types.gen";
import { bestOrder, follow, type Job, type Place, setupSeconds, type Taken, times } from "./order";

const LABELS = 4000;
const SEARCHED = 24;

export function nextFrames(layout: Layout, pace: Pace, progress: SeriesProgress): NextFrames {
  const frames = new Map(layout.frames.map((frame) => [frame.id, frame]));
  const named = (id: string): LaidFrame => {
    const frame = frames.get(id);
    if (frame === undefined) throw new Error(`the layout has no frame '${id}'`);
    return frame;
  };
  const done = new Set(progress.done);
  for (const id of done) named(id);
  const left = [...new Set([...progress.order, ...frames.keys()])]
    .map(named)
    .filter(({ id }) => !done.has(id));
  const since = sinceEach(layout, progress.since);
  const late = left.map((frame) => jobOf(frame, since(frame.dye), pace));
  const start = progress.last === null ? null : placeOf(named(progress.last));
  const alive = late.flatMap((job, i) =>
    times(job, 0, setupSeconds(start, job.place, pace)) === null ? [] : [i],
  );
  let jobs = late.map((job) => atOnce(job, setupSeconds(start, job.place, pace)));
  let found = planned(jobs, alive, pace, start);
  let kept = new Set(found.map(({ job }) => job));
  if (alive.some((i) => late[i]?.toDue && !kept.has(i))) {
    const eased = jobs.map((job, i) => (kept.has(i) ? job : (late[i] as Job)));
    const again = planned(eased, alive, pace, start);
    if (more(jobs, again, found) > 0) {
      jobs = eased;
      found = again;
      kept = new Set(again.map(({ job }) => job));
    }
  }
  const idOf = (i: number): string => (left[i] as LaidFrame).id;
  let place = start;
  const coming = found.map(({ job: i, begin }) => {
    const job = late[i] as Job;
    const setup = setupSeconds(place, job.place, pace);
    place = job.place;
    return { id: idOf(i), move_s: Math.max(0, begin - setup), begin_s: begin, shut_s: job.due - job.least };
  });
  return {
    coming,
    shut: jobs.flatMap((_, i) => (alive.includes(i) ? [] : [idOf(i)])),
    crowded: alive.filter((i) => !kept.has(i)).map(idOf),
    relaid: found.map(({ job }) => job).join() !== alive.filter((i) => kept.has(i)).join(),
    slack_s: slackSeconds(jobs, found, pace),
  };
}

/** Seconds since each dye's injection; one not given yet counts from when the layout means it to be given. */
function sinceEach(layout: Layout, since: SeriesProgress["since"]): (dye: string) => number {
  const given = new Map(Object.entries(since ?? {}));
  let line = 0;
  let least = Number.POSITIVE_INFINITY;
  for (const { dye, after_s } of layout.dyes) {
    const seconds = given.get(dye);
    if (seconds === undefined || after_s >= least) continue;
    least = after_s;
    line = seconds + after_s;
  }
  const each = new Map(
    layout.dyes.map(({ dye, after_s }) => [dye, given.get(dye) ?? -Math.max(after_s - line, 0)]),
  );
  return (dye) => {
    const seconds = each.get(dye as never);
    if (seconds === undefined) throw new Error(`the layout gives no '${dye}'`);
    return seconds;
  };
}

function jobOf(frame: LaidFrame, since: number, pace: Pace): Job {
  return {
    place: placeOf(frame),
    release: Math.max(0, frame.from_s - since),
    due: frame.to_s - since,
    least: pace.frame_s,
    toDue: frame.burst,
    needed: frame.needed,
  };
}

function placeOf({ eye, turn, h, v }: LaidFrame): Place {
  return { eye, turn, h, v };
}

/** A burst that is to begin as early as it can from here; any other job as it is. */
function atOnce(job: Job, moves: number): Job {
  return job.toDue ? { ...job, least: Math.max(job.least, job.due - Math.max(job.release, moves)) } : job;
}

/** The order that is followed where it keeps everything, or where the best one keeps no more. */
function planned(jobs: readonly Job[], alive: readonly number[], pace: Pace, start: Place | null): Taken[] {
  const plain = follow(jobs, alive, pace, start);
  if (plain.length === alive.length) return plain;
  const due = (i: number): number => (jobs[i] as Job).due;
  const soon = [...alive]
    .sort((a, b) => due(a) - due(b) || a - b)
    .slice(0, SEARCHED)
    .sort((a, b) => a - b);
  const searched = bestOrder(
    soon.map((i) => jobs[i] as Job),
    pace,
    start,
    LABELS,
  );
  const front = searched.map(({ job }) => soon[job] as number);
  const behind = alive.filter((i) => !front.includes(i));
  const found = follow(jobs, [...front, ...behind], pace, start);
  return more(jobs, found, plain) > 0 ? found : plain;
}

/** Above 0 where the one keeps more than the other: needed ones first. */
function more(jobs: readonly Job[], one: readonly Taken[], other: readonly Taken[]): number {
  const needed = (order: readonly Taken[]): number =>
    order.filter(({ job }) => (jobs[job] as Job).needed).length;
  return needed(one) - needed(other) || one.length - other.length;
}

function slackSeconds(jobs: readonly Job[], order: readonly Taken[], pace: Pace): number | null {
  let after = Number.POSITIVE_INFINITY;
  let place: Place | null = null;
  for (const { job: i } of [...order].reverse()) {
    const job = jobs[i] as Job;
    const moves: number = place === null ? 0 : setupSeconds(job.place, place, pace);
    const latest = job.due - job.least;
    after = job.toDue ? latest : Math.min(latest, after - moves - job.least);
    place = job.place;
  }
  const first = order[0];
  return first === undefined ? null : after - first.begin;
}
