import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { Optic, Pack } from "../../types.gen";
import { seriesFields } from "./fromSeries";

const optic = { id: "wide", field_deg: 50 } as Optic;
const frame = (id: string, h: number, eye = "study") => ({
  id,
  eye,
  h,
  v: 0,
  dye: "fluorescein",
  start_s: 0,
});
const pack = {
  faces: { eye_depth: {} },
  layouts: [
    {
      id: "l",
      optic: "wide",
      eyes: "one",
      classes: [],
      dyes: [{ dye: "fluorescein", after_s: 0 }],
      frames: [frame("a", 0), frame("b", 15), frame("c", 0), frame("d", 20, "fellow")],
    },
  ],
} as unknown as Pack;
const caseOf = (injected: unknown[], taken: string[]): CaseState =>
  ({
    eyes: ["right"],
    studyEye: "right",
    optic: "wide",
    modalities: ["fluorescein"],
    face: {},
    advised: [],
    laid: [],
    bursts: [],
    frames: taken.map((series_frame) => ({
      body: { series_frame, outcome: "taken", eye: "right", optic: "wide" },
    })),
    dye: { injected },
  }) as unknown as CaseState;

describe("the fields of a series on the map", () => {
  it("are none before the dye, nor for another optic", () => {
    expect(seriesFields(pack, caseOf([], []), optic, "right")).toBeNull();
    expect(seriesFields(pack, caseOf([{}], []), { ...optic, id: "narrow" }, "right")).toBeNull();
  });
  it("are each gaze of this eye once, shown once a frame of it was taken", () => {
    const at = (taken: string[]) =>
      seriesFields(pack, caseOf([{}], taken), optic, "right")?.map((f) => [f.cone[1], f.status]);
    expect(at([])).toEqual([
      [0, "open"],
      [15, "open"],
    ]);
    expect(at(["a"])).toEqual([
      [0, "taken"],
      [15, "open"],
    ]);
    expect(at(["c"])?.[0]).toEqual([0, "taken"]);
  });
});
