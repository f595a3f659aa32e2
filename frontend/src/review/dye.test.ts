import { describe, expect, it } from "vitest";
import type { Pack } from "../types.gen";
import { namesFrom } from "./names";
import { tell } from "./telling";

const PACK = {
  dyes: [{ id: "fluorescein", name: "Fluorescein sodium" }],
  screening: [{ id: "asthma", text: "Asthma?", answers: [{ id: "now", text: "Yes, worse today" }] }],
  steps: [{ id: "consent", text: "Confirm that consent is given." }],
  choices: { safety_what: [], signs: [], safety_done: [], told: [], harm: [] },
} as unknown as Pack;
const NAMES = namesFrom(PACK);
const told = (type: string, body: Record<string, unknown>) => tell(type, true, body, NAMES);

describe("the dye's lines at the desk", () => {
  it("shows a stop, its release and who answers for it", () => {
    expect(
      told("screening.answered", { question: "asthma", answer: "now", consequence: "stop" }),
    ).toMatchObject({
      title: "Screening: Asthma?",
      tone: "danger",
      rows: [
        ["Answer", "Yes, worse today"],
        ["By the clinic's guidance", "a stop"],
      ],
    });
    const release = { question: null, step: "consent", by: "DX", role: "Doctor", words: "by the parent" };
    expect(told("stop.released", release).rows).toEqual([
      ["What had stopped it", "Confirm that consent is given."],
      ["By", "DX, Doctor"],
      ["In their words", "by the parent"],
    ]);
    expect(
      told("physician.asked", {
        question: "asthma",
        answer: "now",
        by: "DX",
        role: "Doctor",
        goes_on: false,
      }),
    ).toMatchObject({ title: "The physician says: stop", tone: "danger" });
  });

  it("shows a dose as it was worked, never rounded again, and a check that differs", () => {
    const dose = {
      dye: "fluorescein",
      weight_kg: "18.5",
      concentration_mg_ml: "100",
      dose_mg: "142.45",
      volume_ml: "1.42",
      capped: false,
      working: "18.5 kg × 7.7 mg/kg = 142.45 mg → 1.42 mL of 100 mg/mL",
    };
    expect(told("dose.worked", dose).rows).toContainEqual(["Dose", "142.45 mg"]);
    expect(told("dose.worked", dose).rows).toContainEqual(["Working", dose.working]);
    const differs = { dye: "fluorescein", by: "QX", role: "Nurse", agrees: false, note: "1.24" };
    expect(told("dose.checked", differs)).toMatchObject({
      title: "Second check differs: Fluorescein sodium",
      tone: "danger",
    });
  });

  it("says of a late event that it came after the case, and of a watch that it ended early", () => {
    const late = {
      what: "faint",
      reached_patient: true,
      harm: null,
      signs: [],
      done: [],
      told: [],
      late: true,
    };
    const none = "after the case was closed; nobody said when";
    expect(told("safety.noted", late).rows).toContainEqual(["When", none]);
    const at = { ...late, when: "at supper", after_dye_h: 6.5 };
    const said = "after the case was closed: about 6.5 h after the dye; “at supper”";
    expect(told("safety.noted", at).rows).toContainEqual(["When", said]);
    expect(told("watch.ended", { after_min: 12, early: true, well: true, why: "DX decided" })).toMatchObject({
      title: "Watch ended early",
      tone: "caution",
    });
  });
});
