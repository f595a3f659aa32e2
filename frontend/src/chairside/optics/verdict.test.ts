import { describe, expect, test } from "vitest";
import type { FitResult, Optic } from "../../types.gen";
import { against, canDo, headline } from "./verdict";

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
  answer: {
    feasible,
    reason: feasible ? null : { code: "no_pose_clears_face", sentence },
  } as unknown as FitResult,
});

describe("what stands against an optic", () => {
  test("nothing, when it can do all that is asked", () => {
    const state = { modalities: ["fluorescein" as const], crossSections: false, pupil: pupil(5) };
    const verdict = against(optic, state, [fits(true)]);
    expect(verdict).toEqual({ request: [], patient: [] });
    expect(headline(verdict, canDo(optic, state))).toBe("Can do what is asked");
  });
  test("kinds of image, cross-sections, pupil and fit, each in a sentence", () => {
    const state = {
      modalities: ["colour" as const, "fluorescein" as const],
      crossSections: true,
      pupil: pupil(4.5),
    };
    const verdict = against(optic, state, [fits(false, "No head position clears the face.")]);
    expect(verdict.request).toEqual(["It cannot take colour.", "It cannot take cross-sections."]);
    expect(verdict.patient).toEqual([
      "The pupil of the right eye is 4.5 mm; it needs 5 mm.",
      "Right eye: No head position clears the face.",
    ]);
    expect(headline(verdict, ["fluorescein"])).toBe("Not for this patient as measured");
    expect(headline({ ...verdict, patient: [] }, canDo(optic, state))).toBe("Only in part: fluorescein");
  });
  test("what is not measured yet stands against nothing", () => {
    const state = { modalities: [], crossSections: false, pupil: {} };
    expect(against(optic, state, [{ eye: "right", answer: null }])).toEqual({ request: [], patient: [] });
  });
});
