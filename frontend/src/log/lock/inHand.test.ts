import { describe, expect, it } from "vitest";
import { foldCase } from "../fold";
import type { Line } from "../line";
import type { Reading } from "../types";
import { inHandAfter } from "./inHand";

const NOW: Reading = { at: 9_000, mono: 900, boot: "now" };
const COMFORT = { score: 2, bothers: [], note: "" };

function line(device: string, seq: number, type: string, body: Record<string, unknown>): Line {
  const envelope = {
    id: `${device}-${seq}`,
    device,
    seq,
    prev: "",
    body_sha256: "",
    at: seq * 1000,
    mono: seq * 100,
    boot: device,
    actor: null,
    case: "c1",
    practice: false,
    pack: "p1",
    type,
    v: 1,
  };
  return { envelope, body: { salt: "", ...body } };
}

const opened = (device = "mine") =>
  line(device, 1, "case.opened", {
    code: "HR-0042",
    eyes: ["right"],
    modalities: ["fluorescein"],
    cross_sections: false,
    flags: [],
  });
const injected = (device: string, seq: number, dye: string) =>
  line(device, seq, "dye.injected", {
    dye,
    arm: "left",
    route: "vein",
    pressed_at: seq * 1000 - 5,
    pressed_mono: seq * 100 - 5,
  });

/** Once one more check of comfort stands. */
function handOf(lines: Line[]) {
  const state = foldCase(lines) ?? undefined;
  return inHandAfter(state, "mine", "comfort.noted", COMFORT, { case: "c1" }, NOW);
}

describe("what stays readable of the case in hand", () => {
  it("is its id, its pack, how late it is and where each dye's clock begins, and nothing about a patient", () => {
    const hand = handOf([opened(), injected("mine", 2, "fluorescein"), injected("mine", 3, "fluorescein")]);
    expect(hand).toEqual({
      case: "c1",
      practice: false,
      pack: "p1",
      latest: 9_000,
      dyes: [{ dye: "fluorescein", at: 1_995, mono: 195, boot: "mine", seconds: 0, foreign: false }],
      reaction: null,
    });
    expect(JSON.stringify(hand)).not.toContain("HR-0042");
  });

  it("a clock ahead of this one's is kept, so that the next line comes after it", () => {
    expect(handOf([opened(), line("mine", 50, "comfort.noted", COMFORT)])?.latest).toBe(50_000);
  });

  it("another phone's injection is said to be another's", () => {
    expect(handOf([opened("other"), injected("other", 2, "fluorescein")])?.dyes).toMatchObject([
      { dye: "fluorescein", foreign: true, boot: "other" },
    ]);
  });

  it("the injection itself sets its clock at the press, and a second one does not move it", () => {
    const body = {
      dye: "fluorescein",
      arm: "left" as const,
      route: "vein",
      pressed_at: 8_990,
      pressed_mono: 890,
    };
    const zero = { dye: "fluorescein", at: 8_990, mono: 890, boot: "now", seconds: 0, foreign: false };
    const state = foldCase([opened()]) ?? undefined;
    expect(inHandAfter(state, "mine", "dye.injected", body, { case: "c1" }, NOW)?.dyes).toEqual([zero]);
    const given = foldCase([opened(), injected("mine", 2, "fluorescein")]) ?? undefined;
    expect(inHandAfter(given, "mine", "dye.injected", body, { case: "c1" }, NOW)?.dyes).toMatchObject([
      { at: 1_995 },
    ]);
  });

  it("what the team agreed on is the new zero, at once and afterwards", () => {
    const agreed = { dye: "fluorescein", wall_s: 1, mono_s: null, agreed_s: 300, by: "AB" };
    const lines = [opened(), injected("mine", 2, "fluorescein")];
    const state = foldCase(lines) ?? undefined;
    const zero = { dye: "fluorescein", seconds: 300, foreign: false };
    expect(inHandAfter(state, "mine", "clock.uncertain", agreed, { case: "c1" }, NOW)?.dyes).toEqual([
      { ...zero, ...NOW },
    ]);
    expect(handOf([...lines, line("mine", 4, "clock.uncertain", agreed)])?.dyes).toEqual([
      { ...zero, at: 4_000, mono: 400, boot: "mine" },
    ]);
  });

  it("the clock of an emergency that runs goes on, by the line that opened it", () => {
    const state = foldCase([opened()]) ?? undefined;
    const screen = { screen: "step" };
    const began = inHandAfter(state, "mine", "reaction.started", screen, { case: "c1" }, NOW)?.reaction;
    expect(began).toEqual({ ...NOW, device: "mine" });
    const lines = [opened(), line("other", 7, "reaction.started", screen)];
    const runs = { at: 7_000, mono: 700, boot: "other", device: "other" };
    expect(handOf(lines)?.reaction).toEqual(runs);
    const again = inHandAfter(
      foldCase(lines) ?? undefined,
      "mine",
      "reaction.started",
      screen,
      { case: "c1" },
      NOW,
    );
    expect(again?.reaction).toEqual(runs);
    expect(handOf([...lines, line("mine", 8, "reaction.ended", { outcome: "case_goes_on" })])?.reaction).toBe(
      null,
    );
    const end = { outcome: "case_goes_on" as const, note: "" };
    const over = inHandAfter(
      foldCase(lines) ?? undefined,
      "mine",
      "reaction.ended",
      end,
      { case: "c1" },
      NOW,
    );
    expect(over?.reaction).toBe(null);
  });

  it("practice that turns real is real at once; a case that is closed is in hand no longer", () => {
    const state = foldCase([opened()]) ?? undefined;
    const where = { case: "c1", practice: true };
    expect(inHandAfter(state, "mine", "comfort.noted", COMFORT, where, NOW)?.practice).toBe(true);
    expect(inHandAfter(state, "mine", "practice.ended", {}, where, NOW)?.practice).toBe(false);
    expect(inHandAfter(state, "mine", "case.closed", { outcome: "done", note: "" }, where, NOW)).toBeNull();
    const none = { answer: "granted" as const, quota_bytes: 1 };
    expect(inHandAfter(state, "mine", "storage.asked", none, { case: null }, NOW)).toBeUndefined();
  });
});
