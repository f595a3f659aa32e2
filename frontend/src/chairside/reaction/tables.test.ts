import { describe, expect, it } from "vitest";
import type { Pack } from "../../types.gen";
import { met, signsOf, type Tables, tablesOf } from "./tables";

const TABLES = {
  criteria: [
    {
      id: "one",
      text: "skin and more",
      groups: [["hives"], ["wheeze", "low_pressure"]],
      least: 2,
      source: "",
    },
    { id: "two", text: "any of", groups: [["stridor", "wheeze"]], least: 1, source: "" },
  ],
  observations: [
    {
      id: "systolic",
      text: "",
      unit: "",
      least: 20,
      most: 300,
      ask_below: 60,
      ask_above: 220,
      sign_below: 90,
      sign: "low_pressure",
    },
    {
      id: "pulse",
      text: "",
      unit: "",
      least: 10,
      most: 300,
      ask_below: 40,
      ask_above: 160,
      sign_below: null,
      sign: "",
    },
  ],
} as unknown as Tables;
const ids = (...signs: string[]) => met(TABLES, new Set(signs)).map((c) => c.id);

describe("the clinic's criteria", () => {
  it("are met by a sign of enough groups, and say nothing otherwise", () => {
    expect(ids()).toEqual([]);
    expect(ids("hives")).toEqual([]);
    expect(ids("wheeze")).toEqual(["two"]);
    expect(ids("hives", "low_pressure")).toEqual(["one"]);
  });
  it("only ever rise: one sign more never takes a criterion back", () => {
    const all = ["hives", "wheeze", "low_pressure", "stridor", "nausea"];
    for (let bits = 0; bits < 2 ** all.length; bits++) {
      const seen = all.filter((_, i) => bits & (1 << i));
      for (const more of all) expect(ids(...seen, more)).toEqual(expect.arrayContaining(ids(...seen)));
    }
  });
  it("count a reading below the clinic's limit as its sign", () => {
    expect(signsOf(TABLES, { systolic: 84, pulse: 20 })).toEqual(["low_pressure"]);
    expect(signsOf(TABLES, { systolic: 90 })).toEqual([]);
    expect(signsOf(TABLES, { systolic: null })).toEqual([]);
  });
  it("are none where the pack has none; signs can be logged all the same", () => {
    const pack = {
      choices: {
        signs: [
          { id: "none_seen", text: "" },
          { id: "nausea", text: "Nausea" },
        ],
      },
    };
    const plain = tablesOf(pack as unknown as Pack);
    expect(plain.signs.map((s) => s.id)).toEqual(["nausea"]);
    expect(met(plain, new Set(["nausea"]))).toEqual([]);
    expect(plain.actions.some((a) => a.asks === "drug")).toBe(true);
  });
});
