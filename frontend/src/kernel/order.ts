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

/** `needed`, `wanted`: kept, both negative. `moved`: seconds of moving. Less is better, in this order. */
interface Label {
  free: number;
  needed: number;
  wanted: number;
  moved: number;
  pushed: number;
  /** Jobs left, as bits; and the number of the place where eye and head stand. */
  left: number;
  here: number;
  taken: Taken | null;
  from: Label | null;
}

function better(a: Label, b: Label): boolean {
  if (a.needed !== b.needed) return a.needed < b.needed;
  if (a.wanted !== b.wanted) return a.wanted < b.wanted;
  return a.moved < b.moved;
}

function before(a: Label, b: Label): boolean {
  if (a.free !== b.free) return a.free < b.free;
  if (better(a, b)) return true;
  return !better(b, a) && a.pushed < b.pushed;
}

/** The best order of at most 24 jobs from now; after `labels` labels the search is cut short. */
export function bestOrder(jobs: readonly Job[], pace: Pace, start: Place | null, labels: number): Taken[] {
  const count = jobs.length;
  const twins = earlierTwins(jobs, start);
  const { number, setups, here: first } = numbered(jobs, pace, start);
  const latest = jobs.map((job) => job.due + EPS);
  const root = { free: 0, needed: 0, wanted: 0, moved: 0, pushed: 0, taken: null, from: null };
  const heap: Label[] = [];
  const seen = new Map<number, Label>();
  let best: Label | null = null;
  let pushed = 0;
  push(heap, { ...root, left: 2 ** count - 1, here: first });
  for (let popped = 0; heap.length > 0 && popped < labels; popped++) {
    const label = pop(heap);
    const { free, left, here } = label;
    let open = 0;
    for (let i = 0; i < count; i++) {
      if ((left >> i) & 1 && free + (jobs[i] as Job).least <= (latest[i] as number)) open |= 1 << i;
    }
    const key = open * 32 + here;
    const known = seen.get(key);
    if (known !== undefined && !better(label, known)) continue;
    seen.set(key, label);
    if (best === null || better(label, best)) best = label;
    for (let i = 0; i < count; i++) {
      if (!((open >> i) & 1) || open & (twins[i] as number)) continue;
      const job = jobs[i] as Job;
      const setup = (setups[here] as number[])[i] as number;
      const at = times(job, free, setup);
      if (at === null) continue;
      pushed += 1;
      push(heap, {
        free: at[1],
        needed: label.needed - (job.needed ? 1 : 0),
        wanted: label.wanted - (job.needed ? 0 : 1),
        moved: label.moved + setup,
        pushed,
        left: open & ~(1 << i),
        here: number[i] as number,
        taken: { job: i, begin: at[0], end: at[1] },
        from: label,
      });
    }
  }
  const taken: Taken[] = [];
  for (let at = best; at?.taken; at = at.from) taken.push(at.taken);
  return taken.reverse();
}

/** Places by number (those of the jobs, that of the start), and the seconds from each to each job. */
function numbered(
  jobs: readonly Job[],
  pace: Pace,
  start: Place | null,
): { number: number[]; setups: number[][]; here: number } {
  const places: (Place | null)[] = [];
  const numberOf = (place: Place | null): number => {
    const known = places.findIndex((other) =>
      other === null || place === null
        ? other === place
        : other.eye === place.eye && other.turn === place.turn && other.h === place.h && other.v === place.v,
    );
    return known >= 0 ? known : places.push(place) - 1;
  };
  const here = numberOf(start);
  const number = jobs.map(({ place }) => numberOf(place));
  return { number, setups: places.map((a) => jobs.map(({ place }) => setupSeconds(a, place, pace))), here };
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
