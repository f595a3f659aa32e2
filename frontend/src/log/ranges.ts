/** Sets of sequence numbers as inclusive ranges, ascending and apart. Pure. */
export type Ranges = [number, number][];

/** Any list of ranges, in order and joined where they meet; what isn't a range of whole numbers is left out. */
export function normal(ranges: readonly (readonly [number, number])[]): Ranges {
  const sorted = ranges
    .filter(([a, b]) => Number.isSafeInteger(a) && Number.isSafeInteger(b) && a <= b)
    .sort(([a], [b]) => a - b);
  const out: Ranges = [];
  for (const [from, to] of sorted) {
    const last = out[out.length - 1];
    if (last && from <= last[1] + 1) last[1] = Math.max(last[1], to);
    else out.push([from, to]);
  }
  return out;
}

export function fromNumbers(numbers: Iterable<number>): Ranges {
  const runs: Ranges = []; // most often they ascend, one after the other
  for (const n of numbers) {
    const last = runs[runs.length - 1];
    if (last && n === last[1] + 1) last[1] = n;
    else runs.push([n, n]);
  }
  return normal(runs);
}

export function union(a: Ranges, b: Ranges): Ranges {
  return normal([...a, ...b]);
}

export function minus(a: Ranges, b: Ranges): Ranges {
  const out: Ranges = [];
  let skip = 0;
  for (const [from, to] of a) {
    let start = from;
    while (skip < b.length && (b[skip] as [number, number])[1] < start) skip++;
    for (let i = skip; i < b.length && start <= to; i++) {
      const [cutFrom, cutTo] = b[i] as [number, number];
      if (cutFrom > to) break;
      if (cutFrom > start) out.push([start, cutFrom - 1]);
      start = Math.max(start, cutTo + 1);
    }
    if (start <= to) out.push([start, to]);
  }
  return out;
}

export function common(a: Ranges, b: Ranges): Ranges {
  return minus(a, minus(a, b));
}

export function has(ranges: Ranges, n: number): boolean {
  return ranges.some(([from, to]) => from <= n && n <= to);
}

export function size(ranges: Ranges): number {
  return ranges.reduce((sum, [from, to]) => sum + to - from + 1, 0);
}
