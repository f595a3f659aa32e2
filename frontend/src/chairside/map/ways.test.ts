import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { FaceMeasured, Pack } from "../../types.gen";
import { chosenId, framesOfWay, reachClassOf, wayById, waysFor } from "./ways";

const pack = {
  faces: { eye_depth: { deep_set_below_mm: 15, prominent_above_mm: 20 } },
  optics: [
    { id: "wide", name: "Wide" },
    { id: "ultra", name: "Ultra-wide" },
  ],
  regions: [{ id: "pole", name: "Posterior pole" }],
  planning: { regions: [{ id: "pole" }] },
  reach_classes: [
    { id: "d", eye_depth: "deep-set", nose: "high", neck: "free" },
    { id: "a", eye_depth: "average", nose: "high", neck: "free" },
  ],
  plans: [
    {
      optic: "wide",
      region: "pole",
      classes: ["a"],
      feasible: true,
      reason: "",
      other_optics: [],
      fields: [
        [0, 0, 50],
        [24, 0, 48],
      ],
      count: 2,
      lower_bound: 2,
      proved: true,
      region_fraction: 0.97,
      reachable_fraction: 1,
      least_join_overlap: 0.3,
      seconds: 40,
    },
    {
      optic: "wide",
      region: "pole",
      classes: ["d"],
      feasible: false,
      reason: "At most 61 % can be reached. These can show it as asked: ultra.",
      other_optics: ["ultra"],
      fields: [[0, 0, 50]],
      count: 1,
      lower_bound: 1,
      proved: true,
      region_fraction: 0.6,
      reachable_fraction: 0.61,
      least_join_overlap: null,
      seconds: 10,
    },
  ],
  pattern_names: [{ id: "single", name: "Single shot", source: "" }],
  patterns: [
    {
      optic: "wide",
      region: "pole",
      classes: ["a", "d"],
      id: "single",
      fields: [[0, 0, 50]],
      as_defined: true,
      meets: false,
      region_fraction: 0.6,
      least_join_overlap: null,
      seconds: 10,
      sentence: "Less is shown.",
    },
  ],
  sweeps: [],
} as unknown as Pack;
const face = (exophthalmometry: FaceMeasured["exophthalmometry"]) =>
  ({ exophthalmometry, nose: "high", neck: "free" }) as FaceMeasured;

describe("the class of a face", () => {
  it("is as judged, or by the tables' cut-offs where it was measured", () => {
    expect(reachClassOf(pack, face("deep-set"))).toBe("d");
    expect(reachClassOf(pack, face(14.9))).toBe("d");
    expect(reachClassOf(pack, face(15))).toBe("a");
    expect(reachClassOf(pack, face(20))).toBe("a");
    expect(reachClassOf(pack, face(20.1))).toBeNull();
    expect(reachClassOf(pack, undefined)).toBeNull();
  });
});

describe("ways", () => {
  it("are the plan and the patterns of this class, the plan first", () => {
    expect(waysFor(pack, "a", "wide", "pole").map((w) => w.id)).toEqual(["plan:pole", "single:pole"]);
    expect(waysFor(pack, "a", "ultra", "pole")).toEqual([]);
  });
  it("say whether fewer fields are ruled out", () => {
    expect(waysFor(pack, "a", "wide", "pole")[0]?.says).toEqual(["No plan has fewer fields: proved."]);
  });
  it("say how much can be reached, and which optic can, where this one cannot", () => {
    const way = waysFor(pack, "d", "wide", "pole")[0];
    expect(way?.meets).toBe(false);
    expect(way?.says).toEqual(["At most 61 % can be reached. These can show it as asked: Ultra-wide."]);
  });
  it("are found again by the id that was logged for the eye and optic", () => {
    const chosen = [
      { body: { plan: "single:pole", eye: "left", optic: "wide" } },
      { body: { plan: "plan:pole", eye: "right", optic: "wide" } },
      { body: { plan: "sweep", eye: "right", optic: "ultra" } },
    ];
    const state = { plan: { chosen } } as unknown as CaseState;
    expect(chosenId(state, "right", "wide")).toBe("plan:pole");
    expect(chosenId(state, "left", "ultra")).toBeNull();
    const way = wayById(pack, "a", "wide", "plan:pole");
    expect(way?.name).toBe("Fewest fields");
    expect(wayById(pack, "a", "wide", "plan:nowhere")).toBeNull();
    const frames = way === null ? [] : framesOfWay(way, "colour");
    expect(frames.map((f) => [f.id, f.gaze_deg])).toEqual([
      ["plan:pole#1", [0, 0]],
      ["plan:pole#2", [24, 0]],
    ]);
  });
});
