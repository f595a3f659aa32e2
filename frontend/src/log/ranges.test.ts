import fc from "fast-check";
import { expect, it } from "vitest";
import { common, fromNumbers, has, minus, normal, type Ranges, size, union } from "./ranges";

const numbers = fc.uniqueArray(fc.integer({ min: 1, max: 40 }));
const listed = (ranges: Ranges): number[] =>
  ranges.flatMap(([a, b]) => Array.from({ length: b - a + 1 }, (_, i) => a + i));

it("behaves as sets of numbers do", () => {
  fc.assert(
    fc.property(numbers, numbers, (a, b) => {
      const [x, y] = [fromNumbers(a), fromNumbers(b)];
      const sorted = (list: number[]): number[] => [...new Set(list)].sort((m, n) => m - n);
      expect(listed(x)).toEqual(sorted(a));
      expect(listed(union(x, y))).toEqual(sorted([...a, ...b]));
      expect(listed(minus(x, y))).toEqual(sorted(a.filter((n) => !b.includes(n))));
      expect(listed(common(x, y))).toEqual(sorted(a.filter((n) => b.includes(n))));
      expect(size(x)).toBe(a.length);
      for (let n = 0; n <= 41; n++) expect(has(x, n)).toBe(a.includes(n));
    }),
  );
});

it("takes what others wrote in any shape, and leaves out what is no range", () => {
  expect(
    normal([
      [5, 7],
      [1, 2],
      [3, 4],
      [9, 8],
      [1.5, 2],
      [6, 12],
    ]),
  ).toEqual([[1, 12]]);
});
