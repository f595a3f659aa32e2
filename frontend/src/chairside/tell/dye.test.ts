import { describe, expect, it } from "vitest";
import { type CaseState, type Entry, foldCase } from "../../log";
import type { Pack } from "../../types.gen";
import { KEPT_BACK, tellEntry } from "./entry";

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

describe("what the second person may not see before their own figure stands", () => {
  const line = (seq: number, type: string, body: object) =>
    ({
      envelope: {
        id: `l${seq}`,
        device: "a",
        seq,
        at: seq,
        mono: seq,
        boot: "b",
        actor: "WX",
        case: "c",
        practice: false,
        pack: null,
        type,
        prev: "",
        body_sha256: "",
        v: 1,
      },
      body: { salt: "", ...body },
    }) as unknown as Parameters<typeof foldCase>[0] extends Iterable<infer L> ? L : never;
  const opened = line(1, "case.opened", {
    code: "T-1",
    eyes: ["right"],
    study_eye: null,
    modalities: ["fluorescein"],
    cross_sections: false,
    flags: [],
  });
  const worked = (seq: number) =>
    line(seq, "dose.worked", {
      dye: "fluorescein",
      weight_kg: "60",
      concentration_mg_ml: "100",
      dose_mg: "462",
      volume_ml: "4.62",
      ...DOSE,
    });
  const checked = (seq: number, dose: number, agrees: boolean) =>
    line(seq, "dose.checked", {
      dye: "fluorescein",
      by: "QX",
      role: "Nurse",
      agrees,
      note: "",
      worked_by: "WX",
      dose_line: `l${dose}`,
      volume_ml: "4.62",
      own_volume_ml: agrees ? "4.62" : "6.42",
    });
  const list = (...lines: ReturnType<typeof line>[]): string[] => {
    const state = foldCase([opened, ...lines]);
    return state === null ? [] : state.entries.slice(1).map((e) => tellEntry(e, PACK, state).detail);
  };

  it("is the dose in the list of the case's lines, until it is checked", () => {
    expect(list(worked(2))).toEqual([KEPT_BACK]);
    expect(list(worked(2), checked(3, 2, true))).toEqual([
      `Fluorescein sodium · ${DOSE.working}`,
      "Fluorescein sodium · QX, Nurse · own figure 4.62 mL",
    ]);
  });
  it("is all that came before, too, once it is worked anew", () => {
    const anew = list(worked(2), checked(3, 2, false), worked(4));
    expect(anew).toEqual([KEPT_BACK, KEPT_BACK, KEPT_BACK]);
    expect(anew.join()).not.toMatch(/[0-9]/);
  });
});
