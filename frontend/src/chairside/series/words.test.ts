import { describe, expect, it } from "vitest";
import type { Remedy } from "../../types.gen";
import type { SeriesFrame } from "./course";
import { frameLine, gazeTitle, remedySaid, spokenFrame, whenWords } from "./words";

const frame = (change: Partial<SeriesFrame>): SeriesFrame =>
  ({
    eye: "right",
    gaze_deg: [0, 0],
    dye: "fluorescein",
    alone: true,
    burst: false,
    ...change,
  }) as SeriesFrame;

describe("a frame in words", () => {
  it("says the patient's own side, for nasal is the other side in the other eye", () => {
    expect(gazeTitle(frame({ gaze_deg: [20, 0] }))).toBe("20° to the patient's left");
    expect(gazeTitle(frame({ eye: "left", gaze_deg: [20, -10] }))).toBe(
      "20° to the patient's right and 10° down",
    );
    expect(gazeTitle(frame({}))).toBe("Straight");
  });

  it("names the dye only where there are two, and speaks no signs", () => {
    expect(frameLine(frame({ burst: true }))).toBe("Right eye, straight, burst");
    expect(frameLine(frame({ alone: false, dye: "indocyanine_green" }))).toBe(
      "Right eye, straight, indocyanine green",
    );
    expect(spokenFrame(frame({ gaze_deg: [0, 15] }))).toBe("Right eye, 15 degrees up");
  });

  it("counts down, then says now, then for how long it waits", () => {
    expect([83.2, 1.5, 0.4, -4, -10, -65].map(whenWords)).toEqual([
      "In 1:24",
      "In 0:02",
      "Now",
      "Now",
      "Waits for 0:10",
      "Waits for 1:05",
    ]);
  });

  it("knows an optic by its name", () => {
    const remedy = { optic: "wide", sentence: "With the optic 'wide' everything is kept." } as Remedy;
    const optics = [{ id: "wide", name: "Wide" }] as never;
    expect(remedySaid({ optics }, remedy)).toBe("With the optic “Wide” everything is kept.");
    expect(remedySaid({ optics: [] }, remedy)).toBe(remedy.sentence);
  });
});
