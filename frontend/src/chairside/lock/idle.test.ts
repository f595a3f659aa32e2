import { describe, expect, it } from "vitest";
import { type CaseState, foldCase } from "../../log";
import { HIDDEN_MS, IDLE_IN_SERIES_MS, IDLE_MS, isDue, type Use } from "./idle";

const NOW = 1_790_000_000_000;

function caseOf(...lines: [string, Record<string, unknown>][]): CaseState {
  const folded = foldCase(
    lines.map(([type, body], n) => ({
      envelope: {
        id: `l${n}`,
        device: "d",
        seq: n + 1,
        prev: "",
        body_sha256: "",
        at: n + 1,
        mono: n + 1,
        boot: "b",
        actor: null,
        case: "c1",
        practice: false,
        pack: null,
        type,
        v: 1,
      },
      body: { salt: "", ...body },
    })),
  );
  if (!folded) throw new Error("no case");
  return folded;
}

const OPENED: [string, Record<string, unknown>] = [
  "case.opened",
  { code: "T-1", eyes: ["right"], modalities: ["fluorescein"], cross_sections: false, flags: [] },
];
const DYE: [string, Record<string, unknown>] = [
  "dye.injected",
  { dye: "fluorescein", arm: "left", route: "vein", pressed_at: 1, pressed_mono: 1 },
];
const BURST: [string, Record<string, unknown>] = [
  "series.burst",
  { burst: "b", eye: "right", optic: "wide", frames: [], state: "started", dye_s: 10 },
];

function due(use: Partial<Use>): boolean {
  return isDue({ touchedAt: NOW, hiddenAt: null, emergency: false, cases: [], ...use }, NOW);
}

describe("a phone with PINs locks by itself", () => {
  it("some minutes after the last touch, and not before", () => {
    expect(due({ touchedAt: NOW - IDLE_MS + 1 })).toBe(false);
    expect(due({ touchedAt: NOW - IDLE_MS })).toBe(true);
    expect(due({ touchedAt: NOW - IDLE_MS, cases: [caseOf(OPENED)] })).toBe(true);
  });

  it("sooner where something else was in front", () => {
    expect(due({ hiddenAt: NOW - HIDDEN_MS + 1 })).toBe(false);
    expect(due({ hiddenAt: NOW - HIDDEN_MS })).toBe(true);
  });

  it("later while a timed series goes on, and never in a burst", () => {
    const series = [caseOf(OPENED, DYE)];
    expect(due({ touchedAt: NOW - IDLE_MS, hiddenAt: NOW - HIDDEN_MS, cases: series })).toBe(false);
    expect(due({ touchedAt: NOW - IDLE_IN_SERIES_MS, cases: series })).toBe(true);
    const burst = [caseOf(OPENED, DYE, BURST)];
    expect(due({ touchedAt: 0, hiddenAt: 0, cases: burst })).toBe(false);
    const over = caseOf(OPENED, DYE, BURST, ["series.burst", { ...BURST[1], state: "ended" }]);
    expect(due({ touchedAt: 0, cases: [over] })).toBe(true);
  });

  it("never over an emergency, whether its page is shown or not", () => {
    expect(due({ touchedAt: 0, hiddenAt: 0, emergency: true })).toBe(false);
    const runs = caseOf(OPENED, ["reaction.started", { screen: "step" }]);
    expect(due({ touchedAt: 0, cases: [runs] })).toBe(false);
  });
});
