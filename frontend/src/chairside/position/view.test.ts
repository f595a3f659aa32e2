import { describe, expect, test } from "vitest";
import {
  type CapsuleRow,
  dragYaw_deg,
  facePaths,
  headPoint,
  headTransform,
  type Matrix,
  opticPath,
  tipped,
} from "./view";

/** Ry(yaw) Rx(-pitch) with a shift: written out here, apart from the code under test. */
function pose(yaw_deg: number, pitch_deg: number, t: readonly [number, number, number]): Matrix {
  const a = (yaw_deg * Math.PI) / 180;
  const b = (-pitch_deg * Math.PI) / 180;
  const [ca, sa, cb, sb] = [Math.cos(a), Math.sin(a), Math.cos(b), Math.sin(b)];
  return [
    [ca, sa * sb, sa * cb, t[0]],
    [0, cb, -sb, t[1]],
    [-sa, ca * sb, ca * cb, t[2]],
    [0, 0, 0, 1],
  ];
}

function apply(transform: string, x: number, y: number): [number, number] {
  const [a, b, c, d, e, f] = transform.slice(7, -1).split(" ").map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return [a * x + c * y + e, b * x + d * y + f];
}

describe("the picture follows the model's own matrix", () => {
  const nose = [31, -34, 35] as const;
  for (const eye of ["right", "left"] as const) {
    for (const [yaw, pitch] of [
      [0, 0],
      [14, 0],
      [-9, 6],
      [25, -12],
    ] as const) {
      test(`${eye} eye, yaw ${yaw}, pitch ${pitch}`, () => {
        const m = pose(yaw, pitch, [1.5, -0.4, -15]);
        const straight = headPoint(nose, m, eye);
        const flat = tipped(nose, pitch);
        const [x, y] = apply(headTransform(m, yaw, eye), flat.x, flat.y);
        expect(x).toBeCloseTo(straight.x, 2);
        expect(y).toBeCloseTo(straight.y, 2);
      });
    }
  }
});

describe("sides on the screen", () => {
  test("right eye: the nose is drawn to the right (the patient's left), and moves right when yaw grows", () => {
    const nose = [31, -34, 35] as const;
    const still = headPoint(nose, pose(0, 0, [0, 0, -15]), "right");
    const turned = headPoint(nose, pose(14, 0, [0, 0, -15]), "right");
    expect(still.x).toBeCloseTo(31);
    expect(turned.x).toBeGreaterThan(still.x);
    expect(turned.y).toBeLessThan(still.y); // further from the photographer: the nose leaves the optic
  });
  test("left eye: mirrored", () => {
    expect(headPoint([31, 0, 0], pose(0, 0, [0, 0, 0]), "left").x).toBeCloseTo(-31);
  });
  test("dragging the head to the screen's right turns it to the patient's left", () => {
    expect(dragYaw_deg(10, "right")).toBeGreaterThan(0);
    expect(dragYaw_deg(10, "left")).toBeLessThan(0);
  });
});

test("a capsule's shadow keeps its radii, and a disc within the other is one disc", () => {
  const stick: CapsuleRow = [0, 0, 0, 5, 20, 0, 0, 5];
  expect(facePaths([stick], 0)).toEqual([
    "M0.00 5.00A5.00 5.00 0 0 1 0.00 -5.00L20.00 -5.00A5.00 5.00 0 1 1 20.00 5.00Z",
  ]);
  const upright: CapsuleRow = [0, 0, 0, 6, 0, 30, 0, 4];
  expect(facePaths([upright], 0)[0]?.startsWith("M-6.00 0.00a6.00")).toBe(true);
});

test("the optic is its profile on both sides of the axis", () => {
  expect(
    opticPath([
      [0, 20],
      [30, 35],
    ]),
  ).toBe("M20.00 0.00L35.00 30.00L-35.00 30.00L-20.00 0.00Z");
});
