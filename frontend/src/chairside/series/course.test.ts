import { describe, expect, it } from "vitest";
import type { foldCase } from "../../log";
import type { FrameTaken, LaidFrame, Layout, Pack } from "../../types.gen";
import { anchorsOf, clocksOf, unsaid } from "./clocks";
import { courseOf, layoutOf, lineNow } from "./course";
import { placed } from "./relay";

const START = 1_790_000_000_000;

type CaseState = NonNullable<ReturnType<typeof foldCase>>;

/** A case of two invented lines' worth: only what the series reads is set. */
function caseOf(change: Partial<CaseState>): CaseState {
  const blank = {
    id: `case ${Math.random()}`,
    eyes: ["left", "right"],
    studyEye: "left",
    modalities: ["fluorescein"],
    optic: "wide",
    face: {},
    frames: [],
    bursts: [],
    laid: [],
    looked: [],
    seriesStopped: [],
    clockUncertain: [],
    dye: { injected: [injected("fluorescein", 0)] },
  };
  return { ...blank, ...change } as unknown as CaseState;
}

function injected(dye: string, seconds: number, boot = "a", device = "mine") {
  const body = {
    salt: "",
    dye,
    arm: "left" as const,
    route: "vein",
    pressed_at: START + seconds * 1000,
    pressed_mono: 50_000 + seconds * 1000,
  };
  return { line: `i ${dye}`, at: body.pressed_at, device, boot, body };
}

const reading = (seconds: number, boot = "a", set_s = 0) => ({
  at: START + (seconds + set_s) * 1000,
  mono: 50_000 + seconds * 1000,
  boot,
  hidden: false,
});

function frame(id: string, eye: "study" | "fellow", from_s: number, to_s: number, h = 0): LaidFrame {
  const at = { h, v: 0, turn: 0, turn_deg: null, field: "centre", window: "w" };
  const when = { start_s: from_s, end_s: from_s + 4, from_s, to_s };
  return { id, eye, dye: "fluorescein", needed: true, burst: false, shots: 1, ...at, ...when };
}

const LAYOUT: Layout = {
  id: "fluorescein:wide:two",
  protocol: "fluorescein",
  optic: "wide",
  eyes: "two",
  dyes: [{ dye: "fluorescein", after_s: 0 }],
  frames: [
    { ...frame("transit", "study", 7, 45), burst: true, shots: 39 },
    frame("early", "fellow", 60, 120),
    frame("mid-study", "study", 120, 240),
    frame("mid-fellow", "fellow", 120, 240),
  ],
  missed: [],
  slack_s: 20,
  classes: [],
  proved: true,
  could_keep_more: 0,
  remedies: [],
  notes: [],
} as Layout;

const PACK = {
  pace: { frame_s: 4, gaze_move_s: 5, head_turn_s: 12, eye_change_s: 20, turn_from_deg: 5 },
  protocols: [],
  dyes: [],
  layouts: [LAYOUT],
} as unknown as Pack;

let line = 0;
function answered(id: string, outcome: FrameTaken["outcome"], dye_s: number | null) {
  const known = LAYOUT.frames.find((one) => one.id === id) as LaidFrame;
  line += 1;
  return {
    line: `f${line}`,
    at: START + line,
    device: "mine",
    body: {
      salt: "",
      eye: known.eye === "study" ? ("left" as const) : ("right" as const),
      optic: "wide",
      modality: "fluorescein" as const,
      field: "centre",
      gaze_deg: [known.h, known.v] as [number, number],
      outcome,
      series_frame: id,
      dye_s,
    },
  };
}

function at(seconds: number, state: CaseState) {
  const clocks = clocksOf(PACK, state, "mine", [reading(seconds)]);
  return courseOf(PACK, LAYOUT, state, clocks);
}

describe("which layout", () => {
  it("is for the dyes, the optic and the eyes of the case", () => {
    expect(layoutOf(PACK, caseOf({}))?.id).toBe(LAYOUT.id);
    expect(layoutOf(PACK, caseOf({ optic: "narrow" }))).toBeNull();
    expect(layoutOf(PACK, caseOf({ eyes: ["left"] }))).toBeNull();
    expect(layoutOf(PACK, caseOf({ modalities: ["colour"] }))).toBeNull();
    const both = caseOf({ modalities: ["fluorescein", "indocyanine_green"] });
    expect(layoutOf(PACK, both)).toBeNull();
  });
});

describe("which layout, by the face", () => {
  const other = { ...LAYOUT, id: "fluorescein:wide:two:2", classes: ["deep-set.high.fixed"] };
  const usual = { ...LAYOUT, classes: ["average.medium.free"] };
  const pack = {
    ...PACK,
    layouts: [usual, other],
    faces: { eye_depth: { deep_set_below_mm: 15, prominent_above_mm: 20 } },
    reach_classes: [
      { id: "average.medium.free", eye_depth: "average", nose: "medium", neck: "free" },
      { id: "deep-set.high.fixed", eye_depth: "deep-set", nose: "high", neck: "fixed" },
    ],
  } as unknown as Pack;
  const measured = (exophthalmometry: number, nose: string, neck: string) =>
    ({ left: { body: { exophthalmometry, nose, neck } } }) as unknown as CaseState["face"];

  it("goes by the study eye's measures, and by the usual face where there are none", () => {
    expect(layoutOf(pack, caseOf({}))?.id).toBe(usual.id);
    expect(layoutOf(pack, caseOf({ face: measured(12, "high", "fixed") }))?.id).toBe(other.id);
    expect(layoutOf(pack, caseOf({ face: measured(17, "medium", "free") }))?.id).toBe(usual.id);
    expect(layoutOf(pack, caseOf({ face: measured(25, "low", "limited") }))?.id).toBe(usual.id);
  });

  it("stays with what is followed when the face is measured anew", () => {
    const laid = [{ body: { layout: usual.id } }] as CaseState["laid"];
    expect(layoutOf(pack, caseOf({ laid, face: measured(12, "high", "fixed") }))?.id).toBe(usual.id);
  });
});

describe("the course of a series", () => {
  it("goes by study eye and clock, not by one eye and then the other", () => {
    const course = at(1, caseOf({}));
    expect(course.current).toMatchObject({ id: "transit", eye: "left" });
    expect(course.after).toMatchObject({ id: "early", eye: "right" });
    expect(course.call_s).toBeCloseTo(7);
  });

  it("lets a burst run to the end of its window when nobody can press", () => {
    const begun = {
      line: "b1",
      at: START + 8000,
      device: "mine",
      body: {
        salt: "",
        state: "started" as const,
        eye: "left" as const,
        optic: "wide",
        frames: ["transit"],
        dye_s: 8,
      },
    };
    const state = caseOf({ bursts: [begun] });
    expect(at(30, state).running?.id).toBe("transit");
    expect(at(30, state).current?.id).toBe("early");
    const after = at(46, state);
    expect(after.running).toBeNull();
    expect(after.unseen.map((one) => one.id)).toEqual(["transit"]);
    // 20 s to the other eye from the end of the window, which is sooner than the next one opens
    expect(after.call_s).toBeCloseTo(65);
  });

  it("keeps a frame that is to be taken again where it is", () => {
    const course = at(70, caseOf({ frames: [answered("early", "again", 68)] }));
    expect(course.current).toMatchObject({ id: "early", status: "again", tries: 1 });
  });

  it("waits from when the hands were free, also after a reload", () => {
    const state = caseOf({ frames: [answered("early", "taken", 110)] });
    expect(at(145, state).current?.id).toBe("mid-study");
    expect(at(145, state).call_s).toBeCloseTo(130); // 20 s to the other eye
  });

  it("lays what is left anew when not all can be had", () => {
    const late = caseOf({});
    const crowded = at(219, late);
    expect(crowded.shut.map((one) => one.id)).toEqual(["transit", "early"]);
    expect(crowded.crowded).toHaveLength(1);
    const missed = crowded.current?.id ?? "";
    const other = crowded.crowded[0]?.id;
    const next = at(220, { ...late, frames: [answered(missed, "missed", 219)] } as CaseState);
    expect(next.current?.id).toBe(other);
    expect(next.crowded).toEqual([]);
  });

  it("asks for no move to where the instrument has been brought", () => {
    const state = caseOf({ frames: [answered("mid-study", "taken", 214)] });
    expect(at(218, state).crowded.map((one) => one.id)).toEqual([]);
    expect(at(218, state).shut.map((one) => one.id)).toContain("mid-fellow");
    placed(state.id, "mid-fellow");
    expect(at(218, state).current?.id).toBe("mid-fellow");
  });

  it("says what was never had once every window is over", () => {
    const course = at(2000, caseOf({ frames: [answered("early", "taken", 70)] }));
    expect(course.current).toBeNull();
    expect(course.shut.map((one) => one.id)).toEqual(["transit", "mid-study", "mid-fellow"]);
  });

  it("loses no frame where no clock tells the time, and goes on from the last", () => {
    const state = caseOf({ frames: [answered("early", "taken", 70)] });
    const clocks = clocksOf(PACK, state, "mine", [reading(80), reading(1, "b", 3600)]);
    expect(clocks[0]?.state).toBe("uncertain");
    const course = courseOf(PACK, LAYOUT, state, clocks);
    expect(course.current?.id).toBe("mid-study");
    expect([...course.shut, ...course.crowded]).toEqual([]);
  });
});

describe("the clocks of a case", () => {
  it("has one for each dye, from its first injection", () => {
    const given = [
      injected("fluorescein", 0),
      injected("indocyanine_green", 40),
      injected("fluorescein", 50),
    ];
    const state = caseOf({ dye: { injected: given } as unknown as CaseState["dye"] });
    const clocks = clocksOf(PACK, state, "mine", [reading(100)]);
    expect(clocks.map(({ dye, seconds }) => [dye, seconds])).toEqual([
      ["fluorescein", 100],
      ["indocyanine_green", 60],
    ]);
    expect(lineNow(LAYOUT, clocks)).toBe(100);
  });

  it("goes on from what the team agreed on", () => {
    const said = (agreed_s: number | null, seconds: number) => ({
      ...reading(seconds),
      line: `u${seconds}`,
      device: "mine",
      body: { salt: "", dye: "fluorescein", wall_s: 4000, mono_s: 80, agreed_s, by: "RN" },
    });
    const state = caseOf({ clockUncertain: [said(null, 90), said(300, 100)] as CaseState["clockUncertain"] });
    expect(anchorsOf(state, "mine").get("fluorescein")).toMatchObject({ seconds: 300, foreign: false });
    const [clock] = clocksOf(PACK, state, "mine", [reading(110)]);
    expect(clock).toMatchObject({ seconds: 310, agreed: true });
  });

  it("does not trust another phone's clocks, and says so once", () => {
    const state = caseOf({
      dye: { injected: [injected("fluorescein", 0, "x", "other")] } as unknown as CaseState["dye"],
    });
    const [clock] = clocksOf(PACK, state, "mine", [reading(60)]);
    expect(clock).toMatchObject({ state: "uncertain", foreign: true, seconds: null });
    expect(clock && unsaid(state, clock)).toBe(true);
    const line = { line: "u", at: START, device: "mine", mono: 0, boot: "a" };
    const body = { salt: "", dye: "fluorescein", wall_s: 60, mono_s: 0, agreed_s: null };
    expect(clock && unsaid({ ...state, clockUncertain: [{ ...line, body }] }, clock)).toBe(false);
  });
});

describe("a layout for this face", () => {
  const [usual, other] = [
    { ...LAYOUT, classes: ["average.medium.free"] },
    { ...LAYOUT, id: `${LAYOUT.id}:2`, classes: ["deep-set.high.free"] },
  ];
  const pack = {
    ...PACK,
    layouts: [usual, other],
    faces: { eye_depth: { deep_set_below_mm: 14, prominent_above_mm: 20 } },
    reach_classes: [
      { id: "average.medium.free", eye_depth: "average", nose: "medium", neck: "free" },
      { id: "deep-set.high.free", eye_depth: "deep-set", nose: "high", neck: "free" },
    ],
  } as unknown as Pack;
  const face = (exophthalmometry: number | string, nose: string) =>
    ({ left: { body: { exophthalmometry, nose, neck: "free" } } }) as unknown as CaseState["face"];

  it("is the usual one while the face is not measured or falls into no class", () => {
    expect(layoutOf(pack, caseOf({}))).toBe(usual);
    expect(layoutOf(pack, caseOf({ face: face("average", "low") }))).toBe(usual);
  });

  it("is that of its class once it is measured", () => {
    expect(layoutOf(pack, caseOf({ face: face(12, "high") }))).toBe(other);
    expect(layoutOf(pack, caseOf({ face: face("average", "medium") }))).toBe(usual);
  });
});
