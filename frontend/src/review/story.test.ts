import { describe, expect, it } from "vitest";
import type { Timeline, TimelineEntry } from "../types.gen";
import { namesFrom } from "./names";
import { storyOf } from "./story";

let seq = 0;
function entry(type: string, body: object | null, more: Partial<TimelineEntry> = {}): TimelineEntry {
  seq += 1;
  return {
    id: `line-${seq}`,
    device: "d",
    device_label: "Phone 3",
    seq,
    at: 1_794_000_000_000 + seq * 1000,
    offset_ms: 0,
    received_at: 1_794_000_000_000,
    actor: "AB",
    type,
    known: true,
    pack: null,
    practice: false,
    body: body as Record<string, unknown> | null,
    amended_by: null,
    advice: null,
    since_dye: [],
    lacks: null,
    ...more,
  };
}

const told = (...entries: TimelineEntry[]) => {
  const timeline: Timeline = {
    case: "c",
    code: "T-1",
    site: "north",
    site_name: "North",
    state: "open",
    outcome: null,
    practice: false,
    entries,
    position: 9,
    reactions: [],
    joins: [],
  };
  return storyOf(timeline, () => namesFrom(null));
};

const ADVICE = {
  eye: "right",
  optic: "wide",
  gaze_deg: [0, 0],
  reason: null,
  yaw_deg: 14,
  pitch_deg: -3,
  working_distance_mm: 12,
  clearance_mm: 3.24,
  nearest: "nasal_flank",
  field_deg: 133,
  words: "close",
};
const FOUND = { eye: "right", optic: "wide", gaze_deg: [0, 0], outcome: "as_advised" };
const cell = (beat: ReturnType<typeof told>[number] | undefined, label: string) =>
  beat?.beside.find(([l]) => l === label)?.slice(1);

describe("a pose as it was, beside what was advised", () => {
  it("names the side that the face turns to: positive yaw is toward the fellow eye", () => {
    const [right] = told(entry("pose.found", FOUND, { advice: ADVICE }));
    expect(cell(right, "Turn of the face")).toEqual(["14° to the patient's left", "as advised"]);
    const [left] = told(
      entry("pose.found", { ...FOUND, eye: "left" }, { advice: { ...ADVICE, eye: "left" } }),
    );
    expect(cell(left, "Turn of the face")?.[0]).toBe("14° to the patient's right");
    expect(cell(left, "Chin")?.[0]).toBe("3° down");
    expect(cell(left, "Least gap")).toEqual(["3.2 mm", "not recorded"]);
  });

  it("says how much more was needed, and the figure where the photographer gave one", () => {
    const more = { ...FOUND, outcome: "more", by_deg: 4, touched: true, nearest: "brow" };
    const [beat, given] = told(
      entry("pose.found", more, { advice: ADVICE }),
      entry("pose.found", { ...more, yaw_deg: 18 }, { advice: ADVICE }),
    );
    expect(cell(beat, "Turn of the face")?.[1]).toBe("more than advised, by 4°");
    expect(cell(given, "Turn of the face")?.[1]).toBe("18° to the patient's left (more than advised, by 4°)");
    expect(cell(beat, "Least gap")?.[1]).toBe("0 mm: it touched");
    expect(cell(beat, "Closeness")).toEqual(["close", "touched"]);
    expect(beat?.telling.tone).toBe("danger");
  });

  it("never puts a figure where nothing was computed", () => {
    const none = {
      ...ADVICE,
      yaw_deg: null,
      pitch_deg: null,
      clearance_mm: null,
      reason: "child_no_computed_turn",
    };
    const [beat, bare] = told(entry("pose.found", FOUND, { advice: none }), entry("pose.found", FOUND));
    expect(cell(beat, "Advice")?.[0]).toContain("do not hold for a child");
    expect(cell(beat, "Turn of the face")).toEqual(["—", "as advised"]);
    expect(cell(bare, "Advice")?.[0]).toBe("No advice is on record for this pose.");
  });
});

describe("amendments", () => {
  it("show what was and what is, and both lines stay", () => {
    const first = entry("comfort.noted", { score: 2, bothers: ["light"], note: "" });
    const second = entry("line.amended", {
      line: first.id,
      body: { score: 7, bothers: ["light", "neck"], note: "" },
      why: "wrong key",
    });
    const [a, b] = told({ ...first, amended_by: second.id }, second);
    expect(a?.amendedBy?.id).toBe(second.id);
    expect(a?.withdrawn).toBe(false);
    expect(a?.telling.title).toContain("Comfort 2");
    expect(b?.amends?.id).toBe(first.id);
    expect(b?.changes).toContainEqual({ label: "Bothered by", was: "light", now: "light; neck" });
    expect(b?.changes.find((c) => c.label === "What")?.now).toContain("Comfort 7");
  });

  it("a withdrawn line says so and stays", () => {
    const first = entry("step.done", { step: "caps_off" });
    const second = entry("line.amended", { line: first.id, body: null, why: "not this patient" });
    const [a, b] = told({ ...first, amended_by: second.id }, second);
    expect(a?.withdrawn).toBe(true);
    expect(b?.telling.title).toBe("Withdrawn: it did not happen");
    expect(b?.changes).toEqual([]);
  });

  it("holds when the amended line has not come", () => {
    const [beat] = told(entry("line.amended", { line: "elsewhere", body: {}, why: "x" }));
    expect(beat?.amends).toBeNull();
  });
});

describe("lines that cannot be told", () => {
  it("an unknown type is waiting, and its neighbours are told", () => {
    const [odd, plain] = told(
      entry("laser.fired", null, { known: false }),
      entry("step.done", { step: "caps_off" }),
    );
    expect(odd?.telling.tone).toBe("waiting");
    expect(odd?.telling.title).toContain("laser.fired");
    expect(plain?.telling.title).toBe("caps off");
  });

  it("an erased body leaves its place", () => {
    expect(told(entry("comfort.noted", null))[0]?.telling.title).toBe("Comfort noted: erased");
  });

  it("a type that only looks like a property of every object is not told by accident", () => {
    expect(told(entry("constructor", {}, { known: true }))[0]?.telling.tone).toBe("waiting");
  });
});

describe("who wrote on a locked phone", () => {
  it("stands beside each line that names nobody, as it was claimed afterwards on the same phone", () => {
    const [first, second, named] = [
      entry("reaction.started", { screen: "locked" }, { actor: null }),
      entry("comfort.noted", { score: 8, bothers: [] }, { actor: null }),
      entry("comfort.noted", { score: 2, bothers: [] }),
    ];
    const said = (by: string, lines: TimelineEntry[], device = "d") =>
      entry("lines.confirmed", { lines: lines.map(({ id }) => id), by }, { actor: by, device });
    const beats = told(
      first,
      second,
      named,
      said("AB", [first, named]),
      said("CD", [first]),
      said("EF", [second], "another phone"),
    );
    expect(beats.slice(0, 3).map(({ confirmed }) => confirmed)).toEqual([["AB", "CD"], [], []]);
    expect(beats[3]?.telling).toMatchObject({
      title: "Written on the locked phone by AB, as claimed",
      rows: [["Lines", "2"]],
    });
  });
});
