import { describe, expect, test } from "vitest";
import type { FitResult, Optic } from "../../types.gen";
import { against, canDo } from "./verdict";

const optic = {
  id: "near",
  name: "Near",
  modalities: ["fluorescein"],
  cross_sections: false,
  least_pupil_mm: 5,
} as unknown as Optic;
const pupil = (pupil_mm: number) => ({
  right: { line: "", at: 0, device: "", body: { eye: "right" as const, pupil_mm, dilated: true, salt: "" } },
});
const fits = (feasible: boolean, sentence = "") => ({
  eye: "right" as const,
  answer: { feasible, reason: feasible ? null : { code: "no_pose_clears_face", sentence } } as unknown as FitResult,
});

describe("what stands against an optic", () => {
  test("nothing, when it can do all that is asked", () => {
    const state = { modalities: ["fluorescein" as const], crossSections: false, pupil: pupil(5) };
    expect(against(optic, state, [fits(true)])).toEqual([]);
  });
  test("kinds of image, cross-sections, pupil and fit, each in a sentence", () => {
    const state = {
      modalities: ["colour" as const, "fluorescein" as const],
      crossSections: true,
      pupil: pupil(4.5),
    };
    expect(against(optic, state, [fits(false, "No head position clears the face.")])).toEqual([
      "It cannot take colour.",
      "It cannot take cross-sections.",
      "The pupil of the right eye is 4.5 mm; it needs 5 mm.",
      "Right eye: No head position clears the face.",
    ]);
    expect(canDo(optic, state)).toEqual(["fluorescein"]);
  });
  test("what is not measured yet stands against nothing", () => {
    const state = { modalities: [], crossSections: false, pupil: {} };
    expect(against(optic, state, [{ eye: "right", answer: null }])).toEqual([]);
  });
});
