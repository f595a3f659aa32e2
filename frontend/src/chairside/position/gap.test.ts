import { expect, test } from "vitest";
import { gapPoints } from "./gap";
import type { CapsuleRow, Matrix } from "./view";

const still: Matrix = [
  [1, 0, 0, 0],
  [0, 1, 0, 0],
  [0, 0, 1, 0],
  [0, 0, 0, 1],
];
const profile = [
  [0, 20],
  [40, 40],
] as [number, number][];

test("the ends of the gap lie on both skins: a ball 15 mm before the rim", () => {
  const ball: CapsuleRow = [20, 0, -15, 5, 20, 0, -15, 5];
  const gap = gapPoints([ball], profile, still);
  expect(gap?.optic.map((n) => Math.round(n * 1e6) / 1e6)).toEqual([20, 0, 0]);
  expect(gap?.face.map((n) => Math.round(n * 1e6) / 1e6)).toEqual([20, 0, -10]);
});

test("of two parts of the face the nearer one is marked, at its own height", () => {
  const far: CapsuleRow = [0, 0, -60, 5, 0, 0, -60, 5];
  const low: CapsuleRow = [0, -15, -8, 2, 0, -18, -8, 2];
  const gap = gapPoints([far, low], profile, still);
  expect(gap?.face[1]).toBeLessThan(-14);
  expect((gap?.optic[2] ?? 1) - (gap?.face[2] ?? 1)).toBeCloseTo(6, 3);
});

test("where they overlap there is one point and no gap to draw", () => {
  const within: CapsuleRow = [0, 0, 5, 4, 0, 0, 5, 4];
  const gap = gapPoints([within], profile, still);
  expect(gap?.face).toEqual(gap?.optic);
});
