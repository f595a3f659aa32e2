import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { aimOf } from "./current";

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
const pack = {
  optics: [{ id: "wide" }],
  fields: [
    { id: "centre", name: "Centre", gaze_deg: [0, 0], when },
    { id: "nasal", name: "Nasal", gaze_deg: [15, 0], when },
  ],
  steps: [
    { id: "explain", stage: "a", screen: "tick", each: "case", when, fields: [] },
    { id: "frames", stage: "b", screen: "frames", each: "eye", when, fields: ["centre", "nasal"] },
  ],
  stages: [],
  layouts: [],
  thresholds: {},
} as unknown as Pack;

const caseOf = (change: Partial<Record<keyof CaseState, unknown>>): CaseState =>
  ({
    eyes: ["left"],
    studyEye: null,
    modalities: ["colour"],
    flags: [],
    entries: [],
    crossSections: false,
    opticRuns: ["wide"],
    optic: "wide",
    steps: new Map(),
    advised: [],
    frames: [],
    laid: [],
    bursts: [],
    seriesStopped: [],
    dye: { injected: [] },
    ...change,
  }) as unknown as CaseState;
const done = new Map([["explain||", { state: "done" }]]);
const shot = (field: string, outcome: string, gaze_deg: number[], at: number) => ({
  at,
  body: { eye: "left", optic: "wide", field, outcome, gaze_deg },
});

describe("where the eye should look now", () => {
  it("is straight into the optic while nothing is said", () => {
    expect(aimOf(pack, caseOf({}))).toEqual({ eye: "left", optic: "wide", gaze_deg: [0, 0], name: "" });
    expect(aimOf(pack, caseOf({ optic: null, opticRuns: [] }))).toBeNull();
  });
  it("is the next frame of the list that is open", () => {
    expect(aimOf(pack, caseOf({ steps: done }))).toMatchObject({ gaze_deg: [0, 0], name: "Centre" });
    const frames = [shot("centre", "taken", [0, 0], 1)];
    expect(aimOf(pack, caseOf({ steps: done, frames }))).toMatchObject({ gaze_deg: [15, 0], name: "Nasal" });
  });
  it("is the frame to be taken again once each was tried", () => {
    const frames = [shot("centre", "again", [0, 0], 1), shot("nasal", "taken", [15, 0], 2)];
    expect(aimOf(pack, caseOf({ steps: done, frames }))).toMatchObject({ name: "Centre" });
  });
  it("is the gaze of the newest advice where no list is open", () => {
    const advised = [{ line: "second", at: 1, body: { eye: "left", optic: "wide", gaze_deg: [0, 15] } }];
    // its time of day is the later one; its place among the lines is not
    const frames = [{ ...shot("centre", "taken", [0, 0], 5), line: "first" }];
    const entries = [{ line: "first" }, { line: "second" }];
    expect(aimOf(pack, caseOf({ advised, frames, entries }))).toMatchObject({ gaze_deg: [0, 15], name: "" });
  });
});
