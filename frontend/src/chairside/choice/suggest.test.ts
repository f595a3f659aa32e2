import { describe, expect, it } from "vitest";
import type { ChoiceRow, PackChoice } from "../../types.gen";
import { type Asked, suggest } from "./suggest";

const row = (optic: string, change: Partial<ChoiceRow> = {}): ChoiceRow => ({
  optic,
  name: optic.toUpperCase(),
  possible: true,
  why_not: [],
  fields: 3,
  lower_bound: 3,
  proved: true,
  seconds: 90,
  coverage: 0.96,
  reachable: 1,
  detail_px_per_deg: 20,
  cross_sections: false,
  modalities: ["colour", "fluorescein"],
  head_turn_deg: 0,
  chin_deg: 0,
  eye_turn_deg: 10,
  working_distance_mm: 40,
  within_minutes: null,
  dominated_by: [],
  says: `${optic} says`,
  against: {},
  ...change,
});
const near = row("near", {
  seconds: 30,
  working_distance_mm: 15,
  against: { far: "FAR would give 25 mm, but 60 s more." },
});
const far = row("far", { seconds: 90, detail_px_per_deg: 40, cross_sections: true });
const worse = row("worse", { seconds: 120, dominated_by: ["near", "far"], modalities: ["colour"] });
const table = {
  rows: [near, far, worse],
  quickest: ["near", "far", "worse"],
  farthest: ["far", "worse", "near"],
} as unknown as PackChoice;
const any: Asked = { modalities: ["colour"], crossSections: false, detail_px_per_deg: null, minutes: null };

describe("the suggested optic", () => {
  it("is the quickest, with what the others would give and take", () => {
    const found = suggest(table, any);
    expect(found.suggested?.optic).toBe("near");
    expect(found.why).toBe("The quickest: near says.");
    expect(found.trades).toEqual(["FAR would give 25 mm, but 60 s more."]);
  });
  it("is the farthest that keeps the minutes, where minutes are asked", () => {
    expect(suggest(table, { ...any, minutes: 2 }).suggested?.optic).toBe("far");
    expect(suggest(table, { ...any, minutes: 1 }).suggested?.optic).toBe("near");
    expect(suggest(table, { ...any, minutes: 1 }).rows.map((j) => j.inTime)).toEqual([true, false, false]);
  });
  it("is the quickest where none keeps the minutes, and says so", () => {
    const found = suggest(table, { ...any, minutes: 0.25 });
    expect(found.suggested?.optic).toBe("near");
    expect(found.why).toContain("None keeps to 0.25 min");
  });
  it("does all that is asked, and each other row says what it does not", () => {
    const found = suggest(table, { ...any, crossSections: true });
    expect(found.suggested?.optic).toBe("far");
    expect(found.rows[0]?.whyNot).toEqual(["It takes no cross-sections."]);
    const fine = suggest(table, { ...any, detail_px_per_deg: 30 });
    expect(fine.suggested?.optic).toBe("far");
    expect(fine.rows[0]?.whyNot).toEqual(["It shows 20 pixels per degree; 30 are asked."]);
  });
  it("is none where no optic does it, and nothing is hidden", () => {
    const found = suggest(table, { ...any, modalities: ["indocyanine_green"] });
    expect(found.suggested).toBeNull();
    expect(found.rows).toHaveLength(3);
    expect(found.why).toContain("None of the clinic's optics does all that is asked");
  });
  it("marks as dominated only by optics that do what is asked", () => {
    expect(suggest(table, any).rows[2]?.dominatedBy).toEqual(["near", "far"]);
    expect(suggest(table, { ...any, detail_px_per_deg: 20 }).rows[2]?.dominatedBy).toEqual(["near", "far"]);
    expect(suggest(table, { ...any, detail_px_per_deg: 15 }).rows[2]?.dominatedBy).toEqual(["near", "far"]);
    // one that does not do what is asked has its own reason: being no better does not matter then
    expect(suggest(table, { ...any, crossSections: true }).rows[2]?.dominatedBy).toEqual([]);
  });
});
