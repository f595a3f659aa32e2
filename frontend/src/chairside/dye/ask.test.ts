import { describe, expect, it } from "vitest";
import type { Pack } from "../../types.gen";
import { askDose, dayOf, NO_DOSE } from "./ask";

const dye = {
  id: "fluorescein",
  name: "Fluorescein sodium",
  modality: "fluorescein",
  routes: ["intravenous"],
  rule: "per_kg",
  per_kg_mg: "7.7",
  fixed_mg: "",
  cap_mg: "500",
  keep_below_mg_per_kg: "",
  concentrations_mg_ml: ["100", "250"],
  default_concentration_mg_ml: "100",
  rounding_step_ml: "0.01",
  rounding: "nearest",
  flush_ml: "5",
  use_by_h: "",
  arm_to_eye_s: [7, 14],
  approved_by: "Lead",
  approved_on: "2024-01-01",
  valid_until: "2026-12-31",
  cautions: [],
  source: [],
};
const PACK = {
  dyes: [dye],
  dosing: {
    caution: "c",
    ask_below_kg: "2.5",
    ask_above_kg: "120",
    keep_total_below_mg_per_kg: "",
    weights: [
      { id: "1_to_4", name: "1 to 4", ask_below_kg: "7", ask_above_kg: "25" },
      { id: "adult", name: "adult", ask_below_kg: "35", ask_above_kg: "120" },
    ],
    checker_roles: ["Nurse"],
    source: [],
  },
} as unknown as Pack;
const NOW = new Date(2025, 5, 1, 9).getTime();
const ask = (draft: Partial<typeof NO_DOSE>, more: { now?: number } = {}) =>
  askDose(
    PACK,
    "fluorescein",
    { ...NO_DOSE, concentration: "100", band: "adult", ...draft },
    {
      withDye: "",
      now: NOW,
      ...more,
    },
  );

describe("asking for a dose", () => {
  it("waits in words for what is not said, and guesses neither weight, strength nor age", () => {
    expect(ask({})).toEqual({ waits: "Enter the weight." });
    expect(ask({ weight: "60", concentration: "" })).toEqual({
      waits: "Pick the strength that stands on the vial.",
    });
    expect(ask({ weight: "18", band: "" })).toMatchObject({ waits: expect.stringContaining("age") });
  });

  it("works the label's own example: 7.7 mg/kg, at most 500 mg (US label of fluorescein injection)", () => {
    expect(ask({ weight: "20", band: "1_to_4", confirmed: "20" })).toMatchObject({
      dose: { dose_mg: "154", volume_ml: "1.54", stop: null },
    });
    expect(ask({ weight: "65" })).toMatchObject({ dose: { dose_mg: "500", volume_ml: "5", capped: true } });
  });

  it.each(["18,5", "-1", "0", "1e9", "40 lb", "0x10", "１８"])(
    "refuses the weight %s and changes nothing",
    (weight) => {
      expect(ask({ weight })).toMatchObject({
        field: "weight_kg",
        why: expect.stringContaining(`"${weight}"`),
      });
    },
  );

  it("asks about an unusual weight until that very weight is confirmed", () => {
    const band = "1_to_4";
    expect(ask({ weight: "40", band })).toMatchObject({
      dose: { dose_mg: null, stop: { code: "weight_unlikely" } },
    });
    expect(ask({ weight: "40", band, confirmed: "40" })).toMatchObject({ dose: { dose_mg: "308" } });
    expect(ask({ weight: "41", band, confirmed: "40" })).toMatchObject({ dose: { dose_mg: null } });
  });

  it("goes by this phone's own day", () => {
    expect(dayOf(new Date(2026, 11, 31, 23, 59).getTime())).toBe("2026-12-31");
    expect(ask({ weight: "60" }, { now: new Date(2026, 11, 31, 23, 59).getTime() })).toMatchObject({
      dose: { stop: null },
    });
    expect(ask({ weight: "60" }, { now: new Date(2027, 0, 1, 0, 1).getTime() })).toMatchObject({
      dose: { dose_mg: null, stop: { code: "out_of_date" } },
    });
  });
});
