import { describe, expect, it } from "vitest";
import type { Pack } from "../../types.gen";
import { readNumber } from "../../ui/numbers";
import { bodyValue, faultsOf, type Part, partsOf, shownValue } from "./parts";

const none = { id: "none", text: "None", help: "" };
const CHOICES = new Proxy({ harm_scale: "WHO" } as Record<string, unknown>, {
  get: (t, k) => t[String(k)] ?? [none],
});
const PACK = {
  choices: CHOICES,
  optics: [{ id: "narrow", name: "Narrow" }],
  fields: [{ id: "macula", name: "Macula" }],
  faces: { pd_range: { low: 50, high: 80 }, exophthalmometry_range: { low: 8, high: 28 } },
} as unknown as Pack;

/** The body again, after it went through the fields untouched. */
function throughFields(type: string, body: Record<string, unknown>): Record<string, unknown> {
  const parts = partsOf(type, PACK, body);
  expect(parts.length).toBeGreaterThan(0);
  return {
    ...body,
    ...Object.fromEntries(parts.map((p) => [p.key, bodyValue(p, shownValue(p, body[p.key]))])),
  };
}

describe("correcting a line", () => {
  it.each<[string, Record<string, unknown>]>([
    ["comfort.noted", { score: 7, bothers: ["light"], note: "" }],
    ["pupil.measured", { eye: "left", pupil_mm: 6.5, dilated: true }],
    ["step.done", { step: "drops", eye: null, optic: null, value: "10:04" }],
    ["step.skipped", { step: "drops", reason: "equipment", note: "", eye: null, optic: null }],
    ["pose.found", { eye: "right", outcome: "more", by_deg: null, nearest: null, touched: false }],
    ["frame.taken", { eye: "right", outcome: "taken", field: "macula", reason: "" }],
    [
      "case.opened",
      {
        code: "A-1",
        eyes: ["left"],
        study_eye: null,
        modalities: ["colour"],
        cross_sections: false,
        flags: [],
        note: "",
      },
    ],
    [
      "face.measured",
      {
        eye: "right",
        pd_mm: 63,
        exophthalmometry: 16.5,
        nose: "low",
        brow: "flat",
        neck: "free",
        age_band: "60-79",
        unusual: null,
      },
    ],
    [
      "face.measured",
      {
        eye: "right",
        pd_mm: 63,
        exophthalmometry: "average",
        nose: "low",
        brow: "flat",
        neck: "free",
        age_band: "60-79",
        unusual: null,
      },
    ],
    ["screening.answered", { question: "asthma", answer: "no", note: "", consequence: "go" }],
    ["dose.checked", { dye: "fluorescein", by: "QX", role: "Nurse", agrees: true, note: "" }],
    ["dye.injected", { dye: "fluorescein", arm: null, route: "iv", pressed_at: 1, pressed_mono: 2 }],
    ["leak.asked", { dye: "fluorescein", leak: true, note: "", moment: "at_injection" }],
    ["watch.ended", { after_min: 30, early: false, well: null, why: "" }],
    ["takeaway.given", { language: "ar", how: "printed", parts: ["light"] }],
    [
      "safety.noted",
      {
        what: "fall",
        reached_patient: null,
        harm: null,
        signs: [],
        done: [],
        told: [],
        note: "",
        eye: null,
        optic: null,
      },
    ],
    [
      "safety.noted",
      {
        what: "fall",
        reached_patient: false,
        harm: null,
        signs: [],
        done: [],
        told: [],
        note: "x",
        eye: "left",
        optic: "narrow",
      },
    ],
  ])("leaves what is not touched as it was: %s", (type, body) =>
    expect(throughFields(type, body)).toEqual(body),
  );

  it("refuses what is out of range or missing, at its field", () => {
    const parts = partsOf("face.measured", PACK, { exophthalmometry: 16 });
    const shown = Object.fromEntries(parts.map((p: Part) => [p.key, "" as string | string[] | boolean]));
    const faults = faultsOf(parts, { ...shown, pd_mm: "49", exophthalmometry: "16" }, readNumber);
    expect(faults.pd_mm).toContain("50 to 80 mm");
    expect(faults.exophthalmometry).toBeUndefined();
    expect(faults.nose).toBe("Pick one.");
    expect(faults.unusual).toBeUndefined();
  });

  it("offers no fields for what the phone computed: that can only not have happened", () => {
    expect(partsOf("pose.advised", PACK, {})).toEqual([]);
    expect(partsOf("invented.type", PACK, {})).toEqual([]);
  });
});
