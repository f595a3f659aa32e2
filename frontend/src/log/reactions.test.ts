import { describe, expect, it } from "vitest";
import { foldCase } from "./fold";
import type { Line } from "./line";
import { endedAt, isLoose, isOnlyReaction, running } from "./reactions";

let made = 0;
function line(type: string, at: number, body: object = {}, more: object = {}): Line {
  made += 1;
  const envelope = {
    id: `line-${made}`,
    device: "phone",
    seq: made,
    at,
    mono: at,
    boot: "b",
    actor: null,
    case: "c",
    practice: false,
    pack: null,
    type,
    prev: "",
    body_sha256: "",
    v: 1,
    ...more,
  };
  return { envelope, body: { salt: "", ...body } } as unknown as Line;
}
const OPENED = {
  code: "A-1",
  eyes: ["left"],
  study_eye: null,
  modalities: ["fluorescein"],
  cross_sections: false,
  flags: [],
};
const fold = (...lines: Line[]) => {
  const state = foldCase(lines);
  if (!state) throw new Error("nothing to fold");
  return state;
};

describe("a reaction, folded", () => {
  it("runs from its opening to its end and keeps every sign that was ever seen", () => {
    const lines = [
      line("case.opened", 1, OPENED),
      line("reaction.started", 10),
      line("reaction.sign", 11, { sign: "nausea", seen: true }),
      line("reaction.sign", 12, { sign: "nausea", seen: false }),
      line("reaction.action", 13, { action: "legs_up" }),
      line("reaction.observed", 14, { pulse: 120 }),
    ];
    const runs = fold(...lines);
    expect(running(runs)?.at).toBe(10);
    expect([...(running(runs)?.signs ?? [])]).toEqual([["nausea", { seen: false, at: 11 }]]);
    const over = fold(...lines, line("reaction.ended", 20, { outcome: "case_goes_on" }));
    expect(running(over)).toBeNull();
    expect(over.reactions[0]?.actions.map((a) => a.body.action)).toEqual(["legs_up"]);
    expect(over.reactions[0]?.readings[0]?.body.pulse).toBe(120);
  });
  it("is one, though a second phone opens it too, and another after its end", () => {
    const state = fold(
      line("case.opened", 1, OPENED),
      line("reaction.started", 10),
      line("reaction.started", 11, {}, { device: "other", seq: 1 }),
      line("reaction.ended", 20, { outcome: "case_goes_on" }),
      line("reaction.started", 30),
    );
    expect(state.reactions.map((r) => r.at)).toEqual([10, 30]);
  });
  it("ended when its end was told to have been, where nobody ended it then", () => {
    const told = (body: object) => {
      const lines = [line("reaction.started", 60_000), line("reaction.ended", 9_000_000, body)];
      const [reaction] = fold(...lines).reactions;
      return reaction ? endedAt(reaction) : null;
    };
    const late = { outcome: "case_stopped", late: true };
    expect(told({ ...late, after_min: 12.5 })).toBe(60_000 + 750_000);
    expect(told({ ...late, after_min: null })).toBe(9_000_000);
    expect(told({ ...late, after_min: 1e6 })).toBe(9_000_000);
    expect(told({ ...late, after_min: -1 })).toBe(9_000_000);
    expect(told({ outcome: "case_goes_on" })).toBe(9_000_000);
  });
  it("is none when its opening was by mistake, and nothing hangs on it", () => {
    const opened = line("reaction.started", 10);
    const state = fold(
      line("case.opened", 1, OPENED),
      opened,
      line("line.amended", 12, { line: opened.envelope.id, body: null, why: "opened by mistake" }),
    );
    expect(state.reactions).toEqual([]);
    expect(running(state)).toBeNull();
  });
  it("stands by itself with no case, until somebody says whose it was", () => {
    const alone = [line("reaction.started", 10), line("reaction.ended", 20, { outcome: "case_stopped" })];
    const loose = fold(...alone);
    expect([isOnlyReaction(loose), isLoose(loose)]).toEqual([true, true]);
    const tied = fold(...alone, line("reaction.attached", 30, { reaction: "c", to: "d", code: "A-2" }));
    expect([isOnlyReaction(tied), isLoose(tied)]).toEqual([true, false]);
    expect(isOnlyReaction(fold(line("case.opened", 1, OPENED), line("reaction.started", 10)))).toBe(false);
  });
  it("gives the same case in whatever order its lines arrive", () => {
    const lines = [
      line("case.opened", 1, OPENED),
      line("reaction.started", 10),
      line("reaction.sign", 11, { sign: "nausea", seen: true }),
      line("reaction.ended", 20, { outcome: "case_goes_on" }),
    ];
    expect(fold(...[...lines].reverse())).toEqual(fold(...lines));
  });
});

describe("practice that turns real", () => {
  it("makes the whole case real, and practice again when that was a mistake", () => {
    const practice = { practice: true };
    const real = line("practice.ended", 5);
    const lines = [line("case.opened", 1, OPENED, practice), real];
    expect(fold(line("case.opened", 1, OPENED, practice)).practice).toBe(true);
    expect(fold(...lines).practice).toBe(false);
    const back = line("line.amended", 6, { line: real.envelope.id, body: null, why: "pressed by mistake" });
    expect(fold(...lines, back).practice).toBe(true);
  });
});
