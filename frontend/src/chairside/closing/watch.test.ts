import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { happened, leftMs, watched, watchPlan } from "./watch";

const rule = (what: string, minutes: number) => ({ happened: what, minutes, text: what, source: "" });
const PACK = {
  watch: {
    caution: "",
    rules: [rule("injected", 30), rule("child", 60), rule("reaction", 120), rule("leak", 60)],
  },
} as unknown as Pack;

interface Told {
  injected?: number[];
  flags?: string[];
  leak?: boolean;
  events?: { what: string; signs?: string[]; reached?: boolean | null }[];
  nausea?: boolean;
  /** A stop for each: for the patient's sake or not; null where the line does not say. */
  stopped?: (boolean | null)[];
  reactions?: { signs?: string[]; actions?: number; ended?: boolean }[];
}

function told({
  injected = [1000],
  flags = [],
  leak,
  events = [],
  nausea,
  stopped = [],
  reactions = [],
}: Told): CaseState {
  return {
    flags,
    comfort: nausea ? [{ body: { bothers: ["nausea"] } }] : [],
    safety: events.map((e) => ({
      body: {
        what: e.what,
        signs: e.signs ?? [],
        reached_patient: e.reached === undefined ? true : e.reached,
      },
    })),
    seriesStopped: stopped.map((for_patient) => ({ body: { for_patient } })),
    reactions: reactions.map((r) => ({
      signs: new Map((r.signs ?? []).map((s) => [s, { seen: true, at: 1 }])),
      actions: Array.from({ length: r.actions ?? 0 }, () => ({})),
      readings: [],
      ended: r.ended === false ? null : {},
    })),
    dye: {
      injected: injected.map((pressed_at) => ({ body: { pressed_at } })),
      leaks: leak === undefined ? [] : [{ body: { leak } }],
    },
  } as unknown as CaseState;
}

const what = (t: Told): string[] => [...happened(told(t))].sort();

describe("how long a patient is watched", () => {
  it("goes by the longest rule of what happened, from the last injection", () => {
    expect(watchPlan(PACK, told({}))).toMatchObject({ minutes: 30, since: 1000 });
    const plan = watchPlan(PACK, told({ injected: [1000, 5000], flags: ["child"], leak: true }));
    expect(plan).toMatchObject({ minutes: 60, since: 5000 });
    expect(plan?.rules.map((r) => r.happened)).toEqual(["child", "leak", "injected"]);
    expect(plan && leftMs(plan, 0)).toBe(60 * 60_000);
    expect(plan && leftMs(plan, 61 * 60)).toBeLessThan(0);
  });

  it("is not cut short by a time of day that was set, and is the longer where nobody can tell", () => {
    const press = { device: "me", boot: "b", body: { pressed_at: 0, pressed_mono: 0 } };
    const state = { dye: { injected: [press] } } as unknown as CaseState;
    const read = (s: number, set = 0, boot = "b") => ({
      at: (s + set) * 1000,
      mono: s * 1000,
      boot,
      hidden: false,
    });
    const minute = Array.from({ length: 60 }, (_, i) => read(i + 1, i > 30 ? 3600 : 0));
    expect(watched(state, "me", [read(0), ...minute])).toEqual({ seconds: 60, certain: true });
    const both = watched(state, "me", [read(0), read(60), { ...read(5, 7200), boot: "next" }]);
    expect(both.certain).toBe(false);
    expect(both.seconds).toBeLessThan(120);
  });

  it("counts nothing where nothing was injected, and says nothing where the guidance has no rule", () => {
    expect(watchPlan(PACK, told({ injected: [] }))).toBeNull();
    expect(watchPlan({ watch: null } as unknown as Pack, told({}))).toBeNull();
  });

  it("tells nausea from more, and takes an untold reaction for one", () => {
    expect(what({ nausea: true })).toEqual(["injected", "nausea"]);
    expect(what({ events: [{ what: "dye_reaction", signs: ["nausea", "vomiting"] }] })).toEqual([
      "injected",
      "nausea",
    ]);
    expect(what({ events: [{ what: "dye_reaction", signs: ["nausea", "itching"] }] })).toEqual([
      "injected",
      "nausea",
      "reaction",
    ]);
    expect(what({ events: [{ what: "dye_reaction" }] })).toEqual(["injected", "reaction"]);
    expect(what({ reactions: [{ signs: ["nausea"] }] })).toEqual(["injected", "nausea"]);
    expect(what({ reactions: [{ signs: ["nausea", "wheeze"] }] })).toEqual(["injected", "reaction"]);
    expect(what({ reactions: [{ actions: 1 }] })).toEqual(["injected", "reaction"]);
    expect(what({ reactions: [{ ended: false }] })).toEqual(["injected", "reaction"]);
    // opened and put away again, with nothing seen, done or read
    expect(what({ reactions: [{}] })).toEqual(["injected"]);
  });

  it("counts a leak however it was told, a faint, a stop; a near miss did not happen to the patient", () => {
    expect(what({ leak: true })).toContain("leak");
    expect(what({ leak: false })).not.toContain("leak");
    expect(what({ events: [{ what: "leak_at_needle", reached: null }, { what: "faint" }] })).toEqual([
      "faint",
      "injected",
      "leak",
    ]);
    expect(what({ events: [{ what: "faint", reached: false }] })).toEqual(["injected"]);
    expect(what({ stopped: [true] })).toEqual(["injected", "stopped"]);
    expect(what({ stopped: [true], injected: [] })).toEqual([]);
    // a series that ended because everything is had is no reason to watch longer; what is not said is
    expect(what({ stopped: [false] })).toEqual(["injected"]);
    expect(what({ stopped: [null] })).toEqual(["injected", "stopped"]);
    expect(what({ stopped: [true, false] })).toEqual(["injected", "stopped"]);
  });
});
