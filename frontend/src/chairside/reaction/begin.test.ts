import { describe, expect, it } from "vitest";
import type { CaseState, Reaction } from "../../log";
import { everSeen } from "./begin";

const sign = (line: string, id: string, seen: boolean, withdrawn = false) => ({
  line,
  type: "reaction.sign",
  withdrawn,
  written: { sign: id, seen },
});

describe("the signs that the criteria go by", () => {
  it("are all that were ever seen since the opening, one that was taken back too", () => {
    const entries = [
      sign("before", "hives", true),
      { line: "opened", type: "reaction.started", written: {} },
      sign("one", "wheeze", true, true),
      sign("two", "nausea", false),
    ];
    const reaction = { line: "opened", signs: new Map([["pale", { seen: false, at: 1 }]]) };
    const seen = everSeen({ entries } as unknown as CaseState, reaction as unknown as Reaction);
    expect([...seen].sort()).toEqual(["pale", "wheeze"]);
  });
});
