/** The order of frames that keeps the most. Counterpart of `model/series/order.py`, which gives the reasons; both
 * add the same numbers in the same order, so that they agree to the last bit. */
import type { Pace } from "../types.gen";

const EPS = 1e-9;

export interface Place {
  eye: string;
  turn: number;
  h: number;
  v: number;
}

export interface Job {
  place: Place;
  release: number;
  due: number;
  least: number;
  toDue: boolean;
  needed: boolean;
}

export interface Taken {
  job: number;
  begin: number;
  end: number;
}

export function setupSeconds(before: Place | null, after: Place, pace: Pace): number {
  if (before === null) return 0;
  if (before.eye !== after.eye) return pace.eye_change_s;
  const turned = before.turn !== after.turn ? pace.head_turn_s : 0;
  return turned + (before.h !== after.h || before.v !== after.v ? pace.gaze_move_s : 0);
}

/** Begin and end of a job when the hands are free at `free`; null when its window can't hold it. */
export function times(job: Job, free: number, setup: number): [number, number] | null {
  const begin = Math.max(free + setup, job.release);
  if (begin + job.least > job.due + EPS) return null;
  return [begin, job.toDue ? job.due : begin + job.least];
}

/** The jobs in a given order, each as early as it can be; what no longer fits is passed over. */
export function follow(
  jobs: readonly Job[],
  order: readonly number[],
  pace: Pace,
  start: Place | null,
): Taken[] {
  let free = 0;
  let place = start;
  const taken: Taken[] = [];
  for (const i of order) {
    const job = jobs[i] as Job;
    const at = times(job, free, setupSeconds(place, job.place, pace));
    if (at === null) continue;
    taken.push({ job: i, begin: at[0], end: at[1] });
    free = at[1];
    place = job.place;
  }
  return taken;
}

/** Kept needed and kept wanted, both negative, and seconds of moving: less is better. */
type Score = readonly [number, number, number];

interface Label {
  free: number;
  score: Score;
  pushed: number;
  left: number;
  here: Place | null;
  step: Step | null;
}

interface Step {
  before: Step | null;
  taken: Taken;
}

function lessScore(a: Score, b: Score): boolean {
  if (a[0] !== b[0]) return a[0] < b[0];
  if (a[1] !== b[1]) return a[1] < b[1];
  return a[2] < b[2];
}

function before(a: Label, b: Label): boolean {
  if (a.free !== b.free) return a.free < b.free;
  if (lessScore(a.score, b.score)) return true;
  return !lessScore(b.score, a.score) && a.pushed < b.pushed;
}

/** The best order of at most 24 jobs from now; after `labels` labels the search is cut short. */
export function bestOrder(jobs: readonly Job[], pace: Pace, start: Place | null, labels: number): Taken[] {
  const twins = earlierTwins(jobs, start);
  const heap: Label[] = [];
  const seen = new Map<string, Score>();
  let best: Score = [0, 0, 0];
  let bestStep: Step | null = null;
  let pushed = 0;
  push(heap, { free: 0, score: best, pushed, left: 2 ** jobs.length - 1, here: start, step: null });
  for (let popped = 0; heap.length > 0 && popped < labels; popped++) {
    const { free, score, left, here, step } = pop(heap);
    let open = 0;
    jobs.forEach((job, i) => {
      if ((left >> i) & 1 && free + job.least <= job.due + EPS) open |= 1 << i;
    });
    const key = `${open} ${here === null ? "" : `${here.eye} ${here.turn} ${here.h} ${here.v}`}`;
    const known = seen.get(key);
    if (known !== undefined && !lessScore(score, known)) continue;
    seen.set(key, score);
    if (lessScore(score, best)) {
      best = score;
      bestStep = step;
    }
    jobs.forEach((job, i) => {
      if (!((open >> i) & 1) || open & (twins[i] as number)) return;
      const setup = setupSeconds(here, job.place, pace);
      const at = times(job, free, setup);
      if (at === null) return;
      pushed += 1;
      push(heap, {
        free: at[1],
        score: [score[0] - (job.needed ? 1 : 0), score[1] - (job.needed ? 0 : 1), score[2] + setup],
        pushed,
        left: open & ~(1 << i),
        here: job.place,
        step: { before: step, taken: { job: i, begin: at[0], end: at[1] } },
      });
    });
  }
  const taken: Taken[] = [];
  for (let step = bestStep; step !== null; step = step.before) taken.push(step.taken);
  return taken.reverse();
}

/** For each job the jobs before it that it can't be told from, as bits. */
function earlierTwins(jobs: readonly Job[], start: Place | null): number[] {
  const places = [...jobs.map(({ place }) => place), ...(start === null ? [] : [start])];
  const lone = jobs.map(({ place }, i) => {
    const others = places.filter((other, j) => j !== i && other.eye === place.eye);
    return {
      turn: others.every(({ turn }) => turn !== place.turn),
      gaze: others.every(({ h, v }) => h !== place.h || v !== place.v),
    };
  });
  return jobs.map((job, i) => {
    let bits = 0;
    for (let j = 0; j < i; j++) {
      const other = jobs[j] as Job;
      const [a, b] = [other.place, job.place];
      const alike =
        other.release === job.release &&
        other.due === job.due &&
        other.least === job.least &&
        other.toDue === job.toDue &&
        other.needed === job.needed &&
        a.eye === b.eye;
      const turns = a.turn === b.turn || (lone[i]?.turn && lone[j]?.turn);
      const gazes = (a.h === b.h && a.v === b.v) || (lone[i]?.gaze && lone[j]?.gaze);
      if (alike && turns && gazes) bits |= 1 << j;
    }
    return bits;
  });
}

function push(heap: Label[], label: Label): void {
  let i = heap.length;
  while (i > 0) {
    const up = (i - 1) >> 1;
    if (!before(label, heap[up] as Label)) break;
    heap[i] = heap[up] as Label;
    i = up;
  }
  heap[i] = label;
}

function pop(heap: Label[]): Label {
  const top = heap[0] as Label;
  const last = heap.pop() as Label;
  if (heap.length === 0) return top;
  let i = 0;
  for (;;) {
    let down = 2 * i + 1;
    if (down >= heap.length) break;
    if (down + 1 < heap.length && before(heap[down + 1] as Label, heap[down] as Label)) down += 1;
    if (!before(heap[down] as Label, last)) break;
    heap[i] = heap[down] as Label;
    i = down;
  }
  heap[i] = last;
  return top;
}
