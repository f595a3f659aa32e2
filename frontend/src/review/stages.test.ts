import { describe, expect, it } from "vitest";
import type { Timeline, TimelineEntry } from "../types.gen";
import { namesFrom } from "./names";
import { stagesOf } from "./stages";
import { storyOf } from "./story";

let count = 0;
function entry(type: string, body: Record<string, unknown> = {}, more: Partial<TimelineEntry> = {}) {
  count += 1;
  const made: TimelineEntry = {
    id: `l${count}`,
    device: "phone-1",
    device_label: "Phone 1",
    seq: count,
    at: count * 60_000,
    offset_ms: 0,
    received_at: count * 60_000,
    actor: "AB",
    type,
    known: true,
    pack: null,
    practice: false,
    body,
    amended_by: null,
    advice: null,
    since_dye: [],
    lacks: null,
    ...more,
  };
  return made;
}

const OPENED = {
  code: "A-1",
  eyes: ["right"],
  study_eye: "right",
  modalities: [],
  cross_sections: false,
  flags: [],
};
const DYE = { dye: "yellow", route: "vein", arm: "left", pressed_at: 1, pressed_mono: 1 };
const FOUND = { eye: "right", optic: "wide", gaze_deg: [0, 0], nearest: null, touched: false };
const TAKEN = {
  eye: "right",
  optic: "wide",
  modality: "colour",
  gaze_deg: [0, 0],
  field: "f",
  outcome: "taken",
};
const step = () => entry("step.done", { step: "caps_off" });

const timeline = (...entries: TimelineEntry[]): Timeline => ({
  case: "c",
  code: "A-1",
  site: "s",
  site_name: "Site",
  state: "open",
  outcome: null,
  practice: false,
  entries,
  position: 1,
  reactions: [],
  joins: [],
});

const shape = (stages: ReturnType<typeof stagesOf>) =>
  stages.map((stage) => [
    stage.id,
    stage.runs.map((run) => (run.open ? run.beat.entry.type : run.beats.length)),
  ]);
const staged = (line: string | null, ...entries: TimelineEntry[]) =>
  stagesOf(
    storyOf(timeline(...entries), () => namesFrom(null)),
    line,
  );

describe("a case by its stages", () => {
  it("is cut at the first optic, the first dye, the last frame and the closing, the desk by itself", () => {
    const stages = staged(
      null,
      entry("case.opened", OPENED),
      step(),
      entry("optic.chosen", { optic: "wide" }),
      entry("pose.found", { ...FOUND, outcome: "as_advised" }),
      entry("case.read", { by: "o" }),
      entry("dye.injected", DYE),
      entry("frame.taken", TAKEN),
      entry("comfort.noted", { score: 2, bothers: [] }),
      entry("case.closed", { outcome: "completed" }),
      step(),
    );
    expect(shape(stages)).toEqual([
      ["opening", [2]],
      ["optic", [2]],
      ["dye", ["dye.injected", 1]],
      ["finish", ["comfort.noted", 1]],
      ["after", [1]],
      ["desk", [1]],
    ]);
  });

  it("holds every line once, whatever is missing or out of order", () => {
    const lines = [
      entry("dye.injected", DYE), // before any optic: nothing begins with the optic that comes later
      entry("optic.chosen", { optic: "wide" }),
      entry("case.closed", { outcome: "completed" }),
      entry("frame.taken", TAKEN),
      entry("case.opened", OPENED),
      entry("focus.noted", {}, { known: false }),
    ];
    for (let first = 0; first < lines.length; first += 1) {
      const turned = [...lines.slice(first), ...lines.slice(0, first)];
      const stages = staged(null, ...turned);
      const told = stages.flatMap((stage) =>
        stage.runs.flatMap((run) => (run.open ? [run.beat.entry.id] : run.beats.map((one) => one.entry.id))),
      );
      expect(told).toEqual(turned.map((one) => one.id));
      expect(stages.reduce((sum, stage) => sum + stage.count, 0)).toBe(lines.length);
    }
  });

  it("leaves open what matters and the line that is looked for", () => {
    const sought = step();
    const amended = entry("step.done", { step: "a" }, { amended_by: "fix" });
    const stages = staged(
      sought.id,
      entry("case.opened", OPENED),
      sought,
      amended,
      entry("line.amended", { line: amended.id, body: null, why: "x" }, { id: "fix" }),
      entry("pose.found", { ...FOUND, outcome: "more", by_deg: 3 }),
      entry("pose.found", { ...FOUND, outcome: "as_advised", touched: true }),
      entry("safety.noted", { what: "x", reached_patient: true, signs: [], done: [], told: [] }),
    );
    expect(shape(stages)).toEqual([
      ["opening", [1, "step.done", "step.done", "line.amended", "pose.found", "pose.found", "safety.noted"]],
    ]);
  });
});
