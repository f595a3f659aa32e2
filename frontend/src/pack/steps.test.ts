import { describe, expect, it } from "vitest";
import type { Condition, Field, Optic, Pack, Step } from "../types.gen";
import { fieldsFor, stepsFor } from "./steps";
import type { Situation } from "./types";

const ALWAYS: Condition = {
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

function step(id: string, each: Step["each"], when: Partial<Condition> = {}, fields: string[] = []): Step {
  const rest = {
    why: "",
    say: "",
    source: "",
    shows: "nothing" as const,
    unit: "",
    least: null,
    most: null,
    dye: "",
  };
  return {
    id,
    stage: "s",
    weight: "must",
    text: id,
    screen: "tick",
    ...rest,
    each,
    when: { ...ALWAYS, ...when },
    fields,
  };
}

function packOf(steps: Step[], fields: Field[] = []): Pack {
  const optics = [
    { id: "wide", working_distance_mm: 30 },
    { id: "ultra", working_distance_mm: 8 },
  ] as Optic[];
  return { steps, fields, optics, thresholds: { close_optic_mm: 12 } } as unknown as Pack;
}

const situation: Situation = {
  eyes: ["right", "left"],
  studyEye: "right",
  modalities: ["colour"],
  flags: [],
  everFlags: [],
  crossSections: false,
  optics: ["wide", "ultra"],
};
const keys = (steps: Step[], change: Partial<Situation> = {}): string[] =>
  stepsFor(packOf(steps), { ...situation, ...change }).map(({ key }) => key);

describe("rounds", () => {
  it("read as the visit goes: one optic as a whole, one eye before the other, then the next optic", () => {
    const steps = [
      step("greet", "case"),
      step("face", "eye"),
      step("pupil", "eye"),
      step("latch", "optic"),
      step("turn", "eye_and_optic"),
      step("shoot", "eye_and_optic"),
      step("bye", "case"),
    ];
    expect(keys(steps)).toEqual([
      "greet||",
      "face|right|",
      "pupil|right|",
      "face|left|",
      "pupil|left|",
      "latch||wide",
      "turn|right|wide",
      "shoot|right|wide",
      "turn|left|wide",
      "shoot|left|wide",
      "latch||ultra",
      "turn|right|ultra",
      "shoot|right|ultra",
      "turn|left|ultra",
      "shoot|left|ultra",
      "bye||",
    ]);
    expect(keys(steps, { optics: [] })).toEqual([
      "greet||",
      "face|right|",
      "pupil|right|",
      "face|left|",
      "pupil|left|",
      "bye||",
    ]);
  });
});

describe("conditions", () => {
  const one = (
    when: Partial<Condition>,
    change: Partial<Situation> = {},
    each: Step["each"] = "case",
  ): string[] => keys([step("x", each, when)], change);

  it("hold when any of a list does, and all that is given must", () => {
    expect(one({ flags: ["tremor", "mask"] }, { flags: ["mask"] })).toHaveLength(1);
    expect(one({ flags: ["tremor"] }, { flags: ["mask"] })).toEqual([]);
    expect(one({ modalities: ["fluorescein"] })).toEqual([]);
    expect(one({ flags: ["mask"], modalities: ["fluorescein"] }, { flags: ["mask"] })).toEqual([]);
    expect(one({ without_flags: ["child"] }, { flags: ["child"] })).toEqual([]);
    expect(one({ without_flags: ["child"] })).toHaveLength(1);
    expect(one({ cross_sections: true })).toEqual([]);
    expect(one({ cross_sections: false })).toHaveLength(1);
  });

  it("an optic that is put on again comes last, and its change is asked for", () => {
    const steps = [
      step("swap", "optic", { optic_change: true }),
      step("check", "optic", { optic_change: false }),
    ];
    expect(keys(steps, { optics: ["wide"] })).toEqual(["check||wide"]);
    expect(keys(steps, { optics: ["wide", "ultra"] })).toEqual(["check||wide", "swap||ultra"]);
    expect(keys(steps, { optics: ["wide", "ultra", "wide"] })).toEqual(["swap||ultra", "swap||wide"]);
  });

  it("on optics hold for the round's own", () => {
    expect(one({ optic_change: true }, {}, "optic")).toEqual(["x||ultra"]);
    expect(one({ optic_change: false }, {}, "optic")).toEqual(["x||wide"]);
    expect(one({ close_optic: true }, {}, "optic")).toEqual(["x||ultra"]);
    expect(one({ optics: ["wide"] }, {}, "eye_and_optic")).toEqual(["x|right|wide", "x|left|wide"]);
    expect(one({ close_optic: true }, { optics: ["wide"] })).toEqual([]);
    expect(one({ close_optic: true })).toHaveLength(1);
  });

  it("on eyes hold for the round's own; where no study eye is named, each eye counts as one", () => {
    expect(one({ eyes: ["left"] }, {}, "eye")).toEqual(["x|left|"]);
    expect(one({ study_eye: true }, {}, "eye")).toEqual(["x|right|"]);
    expect(one({ study_eye: false }, {}, "eye")).toEqual(["x|left|"]);
    expect(one({ study_eye: true }, { studyEye: null }, "eye")).toHaveLength(2);
    expect(one({ study_eye: false }, { studyEye: null }, "eye")).toEqual([]);
  });
});

it("frames of a step: those it names, in its order, whose own condition holds", () => {
  const field = (id: string, when: Partial<Condition> = {}): Field => ({
    id,
    name: id,
    gaze_deg: [0, 0],
    when: { ...ALWAYS, ...when },
  });
  const fields = [field("a"), field("b", { optics: ["ultra"] }), field("c")];
  const shoot = step("shoot", "eye_and_optic", {}, ["c", "b", "a", "gone"]);
  const ids = (optic: string): string[] =>
    fieldsFor(packOf([shoot], fields), situation, shoot, { eye: "right", optic }).map(({ id }) => id);
  expect(ids("wide")).toEqual(["c", "a"]);
  expect(ids("ultra")).toEqual(["c", "b", "a"]);
});
