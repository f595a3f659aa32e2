import { describe, expect, it } from "vitest";
import { type CaseState, foldCase } from "../../log";
import type { Pack } from "../../types.gen";
import { closedNow } from "./aged";

type Line = Parameters<typeof foldCase>[0] extends Iterable<infer L> ? L : never;
const WORKED_AT = new Date(2026, 10, 25, 9).getTime();
const MIN = 60_000;
const dye = (id: string, more: object) => ({
  id,
  name: id,
  modality: id,
  routes: ["intravenous"],
  rule: "fixed",
  per_kg_mg: "",
  fixed_mg: "25",
  cap_mg: "40",
  keep_below_mg_per_kg: "2",
  concentrations_mg_ml: ["5"],
  default_concentration_mg_ml: "",
  rounding_step_ml: "0.1",
  rounding: "down",
  flush_ml: "5",
  use_by_h: "6",
  arm_to_eye_s: [7, 14],
  approved_by: "Lead",
  approved_on: "2024-01-01",
  valid_until: "2026-11-25",
  cautions: [],
  source: [],
  ...more,
});
const YELLOW = { rule: "per_kg", per_kg_mg: "7.7", fixed_mg: "", cap_mg: "500", keep_below_mg_per_kg: "" };
const packOf = (more: object = {}) =>
  ({
    dyes: [
      dye("indocyanine_green", more),
      dye("fluorescein", {
        ...YELLOW,
        concentrations_mg_ml: ["100"],
        rounding_step_ml: "0.01",
        use_by_h: "",
      }),
    ],
    dosing: {
      caution: "c",
      ask_below_kg: "2.5",
      ask_above_kg: "120",
      keep_total_below_mg_per_kg: "",
      weights: [],
    },
    screening: [],
    steps: [],
    optics: [],
  }) as unknown as Pack;

function caseOf(modalities: string[], doses: Record<string, unknown>[]): CaseState {
  const opened = {
    code: "T",
    eyes: ["right"],
    study_eye: null,
    modalities,
    cross_sections: false,
    flags: [],
  };
  const said: [string, Record<string, unknown>][] = [["case.opened", opened]];
  for (const one of doses) {
    said.push(["dose.worked", one]);
    const of = { dose_line: `l${said.length - 1}`, volume_ml: one.volume_ml, worked_by: "WX" };
    said.push(["dose.checked", { dye: one.dye, by: "QX", role: "Nurse", agrees: true, ...of }]);
  }
  const lines = said.map(([type, body], i) => ({
    envelope: {
      id: `l${i}`,
      device: "a",
      seq: i + 1,
      at: WORKED_AT,
      mono: i,
      boot: "b",
      case: "c",
      type,
      v: 1,
    },
    body: { salt: "x", ...body },
  }));
  const state = foldCase(lines as unknown as Line[]);
  if (state === null) throw new Error("no case");
  return state;
}
const worked = (more: object) => ({ capped: false, working: "w", with_dye: null, ...more });
const green = (more: object = {}) =>
  worked({
    dye: "indocyanine_green",
    weight_kg: "60",
    concentration_mg_ml: "5",
    dose_mg: "25",
    volume_ml: "5",
    made_up_min: 20,
    ...more,
  });
const yellow = (weight_kg: string, dose_mg: string, volume_ml: string) =>
  worked({ dye: "fluorescein", weight_kg, concentration_mg_ml: "100", dose_mg, volume_ml });
const said = (state: CaseState, after_min: number, pack = packOf(), id = "indocyanine_green") =>
  closedNow(pack, state, id, WORKED_AT + after_min * MIN).map((c) => c.text);

describe("an agreed dose at the injection", () => {
  const state = caseOf(["indocyanine_green"], [green()]);
  it("stands while the rule is in date and the dye within its hours", () => {
    expect(said(state, 0)).toEqual([]);
    expect(said(state, 340)).toEqual([]);
    // 20 minutes when it was worked and 341 since: past the 6 hours
    expect(said(state, 341)).toEqual([expect.stringContaining("361 minutes ago")]);
    // a clock that was set back makes nothing fresher than it was
    expect(said(caseOf(["indocyanine_green"], [green({ made_up_min: 361 })]), -600)).toHaveLength(1);
    expect(said(state, 24 * 60)[0]).toContain("the approval of this rule ended on 2026-11-25");
  });
  it("does not, where nobody said when it was made up, or the rule is another now", () => {
    expect(said(caseOf(["indocyanine_green"], [green({ made_up_min: null })]), 0)[0]).toContain("made up");
    expect(said(state, 0, packOf({ fixed_mg: "20" }))[0]).toContain("another now");
    expect(said(state, 0, packOf({ concentrations_mg_ml: ["10"] }))[0]).toContain("cannot be followed");
  });
  it("needs one weight for both dyes", () => {
    const both = ["fluorescein", "indocyanine_green"];
    expect(said(caseOf(both, [green(), yellow("60.0", "462", "4.62")]), 0)).toEqual([]);
    const unlike = caseOf(both, [green(), yellow("50", "385", "3.85")]);
    for (const id of ["fluorescein", "indocyanine_green"])
      expect(said(unlike, 0, packOf(), id)).toEqual([
        expect.stringContaining("different weights: 60 and 50 kg"),
      ]);
  });
});
