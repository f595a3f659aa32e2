import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import { unfinishedHere, unfinishedOf } from "./list";

const DRUGS = new Set(["drug_given"]);
const FULL = {
  what: "faint",
  reached_patient: true,
  harm: "mild",
  signs: ["pale"],
  done: ["sat_back"],
  told: ["nurse"],
  note: "",
};
const noted = (at: number, body: object) => ({ line: `l${at}`, at, device: "me", body });
const course = (more: object): CaseState =>
  ({
    id: "c",
    opened: true,
    heldBy: "me",
    practice: false,
    safety: [],
    reactions: [],
    attached: [],
    entries: [],
    ...more,
  }) as unknown as CaseState;
const ran = (at: number, more: object = {}) => ({
  line: `r${at}`,
  at,
  device: "me",
  actions: [],
  ended: { at },
  ...more,
});

describe("the list of what is to finish", () => {
  it("asks for what an event lacks, until it is told or said not to be known", () => {
    const quick = { ...FULL, signs: [], done: [], told: [] };
    const [one] = unfinishedOf(course({ safety: [noted(1, quick)] }), DRUGS);
    expect(one).toMatchObject({ kind: "event", lacks: ["signs", "what was done", "who was told"] });
    expect(unfinishedOf(course({ safety: [noted(1, FULL)] }), DRUGS)).toEqual([]);
    expect(unfinishedOf(course({ safety: [noted(1, { ...quick, finished: true })] }), DRUGS)).toEqual([]);
  });
  it("asks for the record of a reaction once it is over, and for the drug that was given in it", () => {
    const given = [noted(3, { action: "drug_given" }), noted(4, { action: "legs_up" })];
    const runs = course({ reactions: [ran(2, { ended: null, actions: given })] });
    expect(unfinishedOf(runs, DRUGS)).toEqual([{ kind: "unended", case: "c", line: "r2", at: 2 }]);
    const over = course({ reactions: [ran(2, { actions: given })] });
    expect(unfinishedOf(over, DRUGS).map((u) => u.kind)).toEqual(["reaction", "drug"]);
    const told = course({
      reactions: [ran(2, { actions: [noted(3, { action: "drug_given", drug: "a", dose: "not known" })] })],
      safety: [noted(9, { ...FULL, reaction: "r2" })],
    });
    expect(unfinishedOf(told, DRUGS)).toEqual([]);
  });
  it("asks whose a reaction with no case was", () => {
    const alone = course({ opened: false, reactions: [ran(2, { ended: null })] });
    expect(unfinishedOf(alone, DRUGS).map((u) => u.kind)).toEqual(["unended", "loose"]);
    const tied = course({ ...alone, attached: [noted(3, { to: "d" })] });
    expect(unfinishedOf(tied, DRUGS).map((u) => u.kind)).toEqual(["unended"]);
  });
  it("names what this phone wrote or holds, practice last", () => {
    const safety = [noted(1, { ...FULL, told: [] })];
    const theirs = course({ id: "t", heldBy: "you", safety });
    const mineOnce = course({
      id: "m",
      heldBy: "you",
      safety: [noted(5, { ...FULL, told: [] })],
      entries: [{ device: "me" }],
    });
    const played = course({ id: "p", practice: true, safety });
    expect(unfinishedHere([theirs, played, mineOnce], "me", DRUGS).map((u) => u.case)).toEqual(["m", "p"]);
  });
});
