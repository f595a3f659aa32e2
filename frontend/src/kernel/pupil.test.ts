import { expect, test } from "vitest";
import { pupilRatio } from "./pupil";

test("pupil ratio: the smaller of two neighbours, the end beyond the ends", () => {
  const ratios = { from_deg: -10, step_deg: 10, ratios: [0.97, 0.99, 0.96], source: "" };
  expect(pupilRatio(ratios, 0)).toBe(0.99);
  expect(pupilRatio(ratios, 4)).toBe(0.96);
  expect(pupilRatio(ratios, -1)).toBe(0.97);
  expect(pupilRatio(ratios, 40)).toBe(0.96);
  expect(pupilRatio(ratios, -40)).toBe(0.97);
});
