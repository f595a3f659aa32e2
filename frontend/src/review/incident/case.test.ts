import { describe, expect, it } from "vitest";
import type { SinceDye, Timeline, TimelineEntry } from "../../types.gen";
import { standingOf } from "../standing";
import { dyeClocks, sinceWords } from "./clocks";
import { comfortCurve } from "./comfort";
import { joinFactors, splitFactors } from "./factors";
import { lateLines } from "./late";

let count = 0;
function entry(
  type: string,
  at: number,
  body: Record<string, unknown> | null,
  more: Partial<TimelineEntry> = {},
): TimelineEntry {
  count += 1;
  return {
    id: `l${count}`,
    device: "phone-1",
    device_label: "Phone 1",
    seq: count,
    at,
    offset_ms: 0,
    received_at: at,
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
}
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
const comfort = (at: number, score: number, more: Partial<TimelineEntry> = {}) =>
  entry("comfort.noted", at, { score, bothers: [], note: "" }, more);
const MIN = 60_000;

describe("comfort over the case", () => {
  it("counts minutes from the case's first line, with what happened marked", () => {
    const curve = comfortCurve(
      timeline(
        entry("case.opened", 0, {}),
        comfort(5 * MIN, 2),
        entry("safety.noted", 6 * MIN, { what: "x" }),
        comfort(8 * MIN, 7),
      ),
    );
    expect(curve.points.map((p) => [p.minutes, p.score])).toEqual([
      [5, 2],
      [8, 7],
    ]);
    expect(curve.marks.map((m) => m.minutes)).toEqual([6]);
    expect(curve.span).toBe(8);
  });

  it("shows an amended score as it stands, and none that was withdrawn", () => {
    const first = comfort(MIN, 2, { amended_by: "fix" });
    const gone = comfort(2 * MIN, 9, { amended_by: "away" });
    const fix = entry(
      "line.amended",
      3 * MIN,
      { line: first.id, body: { score: 6, bothers: [] } },
      { id: "fix" },
    );
    const away = entry("line.amended", 4 * MIN, { line: gone.id, body: null }, { id: "away" });
    expect(comfortCurve(timeline(first, gone, fix, away)).points.map((p) => p.score)).toEqual([6]);
  });

  it("follows an amendment that was amended, and bears one that has not come", () => {
    const first = comfort(MIN, 2, { amended_by: "one" });
    const one = entry(
      "line.amended",
      2,
      { line: first.id, body: { score: 6, bothers: [] } },
      { id: "one", amended_by: "two" },
    );
    const two = entry(
      "line.amended",
      3,
      { line: "one", body: { line: first.id, body: { score: 8, bothers: [] } } },
      { id: "two" },
    );
    expect(standingOf(timeline(first, one, two), "comfort.noted")[0]?.body.score).toBe(8);
    expect(standingOf(timeline(first), "comfort.noted")[0]?.body.score).toBe(2);
  });
});

describe("the clock of a dye", () => {
  const injected = entry("dye.injected", 10_500, {
    dye: "fluorescein",
    pressed_at: 10_000,
    pressed_mono: 1,
    arm: "left",
    route: "vein",
  });

  const since = (more: Partial<SinceDye>) =>
    entry(
      "x",
      255_000,
      {},
      {
        since_dye: [
          { dye: "fluorescein", seconds: 245, by: "both", wall_s: 245, mono_s: 245, agreed: false, ...more },
        ],
      },
    );
  const words = (more: Partial<SinceDye>) => sinceWords(since(more), () => "Yellow");

  it("is listed from when the press began, with where the phone or the team found it not sure", () => {
    expect(dyeClocks(timeline(injected))).toMatchObject([{ pressed_at: 10_000, uncertain: false }]);
    const doubt = entry("clock.uncertain", 11_000, { dye: "fluorescein", wall_s: 1 });
    expect(dyeClocks(timeline(injected, doubt))).toMatchObject([{ uncertain: true }]);
  });

  it("is said at a line as the server worked it out, with the clock that vouches where it is not both", () => {
    expect(words({})).toEqual(["Yellow 4 min 05 s"]);
    expect(words({ by: "mono", wall_s: -3355 })).toEqual(["Yellow 4 min 05 s"]);
    expect(words({ by: "wall" })).toEqual(["Yellow 4 min 05 s by the time of day alone"]);
    expect(words({ agreed: true })).toEqual(["Yellow about 4 min 05 s"]);
  });

  it("says what each clock says where neither vouches", () => {
    expect(words({ seconds: null, by: "neither", wall_s: 3845, mono_s: 70 })).toEqual([
      "Yellow uncertain: the time of day says 64 min 05 s, the phone counted 1 min 10 s at least",
    ]);
    expect(words({ seconds: null, by: "neither", mono_s: null })).toEqual([
      "Yellow uncertain: the time of day says 4 min 05 s",
    ]);
  });

  it("says nothing before the dye, and nothing hours later", () => {
    expect(sinceWords(entry("x", 9_000, {}), (id) => id)).toEqual([]);
    expect(words({ seconds: 20_000, wall_s: 20_000, mono_s: 20_000 })).toEqual([]);
  });
});

describe("late lines", () => {
  it("are what phones sent after the closing, by the server's clock", () => {
    const wild = entry("safety.noted", 1, {}, { received_at: 900 }); // noted years ago by a phone's own clock
    const early = entry("safety.noted", 99_999, {}, { received_at: 100 });
    const own = entry("case.read", 950, {}, { received_at: 950 });
    expect(lateLines(timeline(wild, early, own), 500)).toEqual([wild]);
    expect(lateLines(timeline(wild), null)).toEqual([]);
  });
});

describe("what contributed", () => {
  it("comes back as it was ticked and written, none empty and none twice", () => {
    const sent = joinFactors(["Staff factors"], "latch worn\n\n latch worn \nnoise");
    expect(sent).toEqual(["Staff factors", "latch worn", "noise"]);
    expect(splitFactors(sent)).toEqual({ classes: ["Staff factors"], words: "latch worn\nnoise" });
  });
});
