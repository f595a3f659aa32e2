import { describe, expect, it } from "vitest";
import type { CaseState, Entry } from "../../log";
import type { Pack } from "../../types.gen";
import { tellEntry } from "./entry";

const PACK = {
  dyes: [{ id: "fluorescein", name: "Fluorescein sodium" }],
  screening: [{ id: "asthma", text: "Asthma?", answers: [{ id: "now", text: "Yes, worse today" }] }],
  steps: [{ id: "consent", text: "Confirm that consent is given." }],
} as unknown as Pack;

const told = (type: string, body: Record<string, unknown>, pack: Pack | null = PACK): string => {
  const entry = { type, body, known: true, withdrawn: false } as unknown as Entry;
  const { title, detail } = tellEntry(entry, pack, {} as CaseState);
  return `${title}: ${detail}`;
};
const DOSE = { working: "60 kg × 7.7 mg/kg = 462 mg → 4.62 mL of 100 mg/mL", capped: false };

describe("the lines of the dye", () => {
  it.each<[string, Record<string, unknown>, string]>([
    [
      "screening.answered",
      { question: "asthma", answer: "now", consequence: "stop", note: "" },
      "Screening: Asthma? Yes, worse today · stop",
    ],
    [
      "stop.released",
      { question: "asthma", answer: "now", step: null, by: "DX", role: "Doctor", words: "settled since" },
      "Stop released: Asthma? Yes, worse today · DX, Doctor · “settled since”",
    ],
    [
      "stop.released",
      { question: null, step: "consent", by: "DX", role: "Doctor", words: "by the parent" },
      "Stop released: Confirm that consent is given. · DX, Doctor · “by the parent”",
    ],
    [
      "physician.asked",
      { question: "asthma", answer: "now", by: "DX", role: "Doctor", goes_on: false, words: "" },
      "The physician says: stop: Asthma? Yes, worse today · DX, Doctor",
    ],
    [
      "dye.left_out",
      { modalities: ["fluorescein"], why: "a stop" },
      "Goes on without dye: Fluorescein · a stop",
    ],
    [
      "dose.worked",
      { dye: "fluorescein", ...DOSE },
      "Dose worked: Fluorescein sodium · 60 kg × 7.7 mg/kg = 462 mg → 4.62 mL of 100 mg/mL",
    ],
    [
      "dose.checked",
      { dye: "fluorescein", by: "QX", role: "Nurse", agrees: false, note: "6.42" },
      "Second check differs: Fluorescein sodium · QX, Nurse · 6.42",
    ],
    ["dye.flushed", { dye: "fluorescein" }, "Flushed: Fluorescein sodium"],
    ["leak.asked", { dye: "fluorescein", leak: true, note: "" }, "Leak at the needle: Fluorescein sodium"],
    [
      "watch.ended",
      { after_min: 12, early: true, well: true, why: "DX decided" },
      "Watch ended early: after 12 min · DX decided",
    ],
    ["takeaway.given", { language: "ar", how: "read_out", parts: [] }, "Take-away card: Read out · Arabic"],
  ])("%s", (type, body, wanted) => expect(told(type, body)).toBe(wanted));

  it("are told without guidance too", () => {
    expect(told("screening.answered", { question: "asthma", answer: "now", note: "" }, null)).toBe(
      "Screening: asthma: now",
    );
    expect(told("dye.flushed", { dye: "indocyanine_green" }, null)).toBe("Flushed: indocyanine green");
  });
});
