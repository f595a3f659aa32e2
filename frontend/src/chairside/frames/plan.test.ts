import { describe, expect, test } from "vitest";
import type { Field, FrameTaken } from "../../types.gen";
import { fieldModality, frameRows, isLargeMove, nextFrame } from "./plan";

const when = {
  optics: [],
  eyes: [],
  modalities: [],
  flags: [],
  without_flags: [],
  cross_sections: null,
  optic_change: null,
  close_optic: null,
  study_eye: null,
};
const field = (id: string, h: number, modalities: Field["when"]["modalities"] = ["fluorescein"]): Field => ({
  id,
  name: id,
  gaze_deg: [h, 0],
  when: { ...when, modalities },
});
const frame = (
  f: string,
  outcome: FrameTaken["outcome"],
  eye: "right" | "left" = "right",
  optic = "wide",
): FrameTaken => ({
  eye,
  optic,
  modality: "fluorescein",
  field: f,
  gaze_deg: [0, 0],
  outcome,
  reason: outcome === "again" ? "blink" : "",
  salt: "",
});
const two = [field("centre", 0), field("nasal", 20)];
const here = { eye: "right", optic: "wide", asked: ["fluorescein" as const] };

describe("the frames of one eye and optic", () => {
  test("the newest answer stands, of this eye and optic only", () => {
    const taken = [
      frame("centre", "again"),
      frame("centre", "taken"),
      frame("nasal", "taken", "left"),
      frame("nasal", "taken", "right", "narrow"),
      frame("nasal", "again"),
    ];
    const rows = frameRows(two, taken, here);
    expect(rows.map((r) => [r.outcome, r.tries, r.reason])).toEqual([
      ["taken", 2, ""],
      ["again", 1, "blink"],
    ]);
  });
  test("next: what has no answer, then what is to be taken again, never what was missed", () => {
    const rows = (t: FrameTaken[]) => frameRows(two, t, here);
    expect(nextFrame(rows([frame("centre", "again")]))?.field.id).toBe("nasal");
    expect(nextFrame(rows([frame("centre", "again"), frame("nasal", "missed")]))?.field.id).toBe("centre");
    expect(nextFrame(rows([frame("centre", "taken"), frame("nasal", "missed")]))).toBeNull();
  });
});

test("the kind of image is the field's own where it names one", () => {
  expect(fieldModality(field("x", 0, ["indocyanine_green", "fluorescein"]), ["fluorescein"])).toBe(
    "fluorescein",
  );
  expect(fieldModality(field("x", 0, []), ["indocyanine_green"])).toBe("indocyanine_green");
});

test("a large move of the gaze asks to draw back", () => {
  expect(isLargeMove([0, 0], [15, 0], 10)).toBe(true);
  expect(isLargeMove([0, 0], [15, 0], 16)).toBe(false);
  expect(isLargeMove([15, 0], [15, -9], 10)).toBe(false);
});
