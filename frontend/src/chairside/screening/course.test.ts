import { describe, expect, it } from "vitest";
import { type CaseState, foldCase } from "../../log";
import type { Pack } from "../../types.gen";
import { steadyFor } from "../light/steady";
import {
  askedAfter,
  closedForDose,
  closedForInjection,
  doseStanding,
  harmedByFlashes,
  needleArm,
  notComputed,
  openOnes,
  orderStanding,
  questionsOf,
  sparedArms,
  sparedWords,
  unanswered,
} from "./course";

type Line = Parameters<typeof foldCase>[0] extends Iterable<infer L> ? L : never;
const OPENED = {
  code: "T-1",
  eyes: ["right"],
  study_eye: null,
  modalities: ["fluorescein"],
  cross_sections: false,
  flags: [],
};

type Saying = [type: string, body: Record<string, unknown>];

/** What a check names where it says nothing else: the dose that stood before it, worked by somebody. */
function ofLastDose(all: readonly Saying[], i: number): Record<string, unknown> {
  const at = all.slice(0, i).findLastIndex(([type]) => type === "dose.worked");
  const amended = all
    .slice(0, i)
    .findLast(([type, body]) => type === "line.amended" && body.line === `l${at}`);
  const body = (amended?.[1].body ?? all[at]?.[1]) as Record<string, unknown> | undefined;
  return { worked_by: "WX", dose_line: `l${at}`, volume_ml: body?.volume_ml ?? null };
}

/** A case folded from what was written, by the log's own fold. */
function stateOf(...said: Saying[]): CaseState {
  const opened: Saying = ["case.opened", OPENED];
  const all = [opened, ...said];
  const lines = all.map(
    ([type, body], i): Line => ({
      envelope: {
        id: `l${i}`,
        device: "a",
        seq: i + 1,
        prev: "",
        body_sha256: "",
        at: 1000 + i,
        mono: i,
        boot: "b",
        actor: null,
        case: "c",
        practice: false,
        pack: null,
        type,
        v: 1,
      },
      body: { salt: "x", ...(type === "dose.checked" ? ofLastDose(all, i) : {}), ...body },
    }),
  );
  const state = foldCase(lines);
  if (state === null) throw new Error("no case");
  return state;
}

const answer = (id: string, consequence: string, spare_arm = "") => ({
  id,
  text: id,
  consequence,
  do: "",
  spare_arm,
});
const question = (id: string, part: string, answers: unknown[], dyes: string[] = []) => ({
  id,
  part,
  text: `${id}?`,
  why: "",
  dyes,
  answers,
  source: "",
});
const ALWAYS = { modalities: [], flags: [], without_flags: [], optics: [], eyes: [] };
const WHEN = { ...ALWAYS, cross_sections: null, optic_change: null, close_optic: null, study_eye: null };

const PACK = {
  dyes: [
    { id: "fluorescein", modality: "fluorescein" },
    { id: "green", modality: "indocyanine_green" },
  ],
  screening: [
    question("earlier", "patient", [answer("no", "go"), answer("hives", "stop")]),
    question("beta", "patient", [answer("no", "go"), answer("yes", "ask")]),
    question("spare", "patient", [
      answer("neither", "go"),
      answer("left", "note", "left"),
      answer("both", "stop", "both"),
    ]),
    question("iodide", "patient", [answer("no", "go")], ["green"]),
    question("arm", "ready", [answer("right", "go"), answer("left", "go")]),
  ],
  steps: [
    { id: "consent", stage: "s", weight: "stop", text: "Consent.", each: "case", when: WHEN, fields: [] },
  ],
  optics: [],
} as unknown as Pack;

const says = (q: string, a: string): Saying => ["screening.answered", { question: q, answer: a }];
const released = (q: string, a: string): Saying => [
  "stop.released",
  { question: q, step: null, answer: a, by: "DX", role: "Doctor", words: "goes on" },
];
const physician = (q: string, a: string, goes_on: boolean): Saying => [
  "physician.asked",
  { question: q, answer: a, by: "DX", role: "Doctor", goes_on },
];
const consent: Saying = ["step.done", { step: "consent" }];
const well = [says("earlier", "no"), says("beta", "no"), says("spare", "neither"), consent];
const dose: Saying = [
  "dose.worked",
  {
    dye: "fluorescein",
    weight_kg: "60",
    concentration_mg_ml: "100",
    dose_mg: "462",
    volume_ml: "4.62",
    capped: false,
    working: "w",
  },
];
const check = (agrees: boolean): Saying => [
  "dose.checked",
  { dye: "fluorescein", by: "QX", role: "Nurse", agrees },
];
const kinds = (state: CaseState): string[] => openOnes(PACK, state).map((o) => `${o.kind} ${o.question.id}`);

describe("screening", () => {
  it("asks what the dyes of this visit need, and nothing where there is none", () => {
    expect(questionsOf(PACK, { modalities: ["fluorescein"] }, "patient").map((q) => q.id)).toEqual([
      "earlier",
      "beta",
      "spare",
    ]);
    expect(questionsOf(PACK, { modalities: ["indocyanine_green"] }, "patient")).toHaveLength(4);
    expect(questionsOf(PACK, { modalities: ["colour"] }, "patient")).toEqual([]);
  });

  it("takes the last answer, and one that this guidance does not know for none", () => {
    const state = stateOf(says("earlier", "hives"), says("earlier", "no"), says("beta", "of another pack"));
    expect(kinds(state)).toEqual([]);
    expect(unanswered(PACK, state, "patient").map((q) => q.id)).toEqual(["beta", "spare"]);
  });

  it("passes a stop only by a release of that very answer", () => {
    expect(kinds(stateOf(says("earlier", "hives")))).toEqual(["stop earlier"]);
    expect(kinds(stateOf(says("earlier", "hives"), physician("earlier", "hives", true)))).toEqual([
      "stop earlier",
    ]);
    expect(kinds(stateOf(says("earlier", "hives"), released("earlier", "no")))).toEqual(["stop earlier"]);
    expect(kinds(stateOf(says("earlier", "hives"), released("earlier", "hives")))).toEqual([]);
  });

  it("lets the physician say go on or stop, and the last word counts", () => {
    const yes = says("beta", "yes");
    expect(kinds(stateOf(yes))).toEqual(["ask beta"]);
    expect(kinds(stateOf(yes, physician("beta", "yes", true)))).toEqual([]);
    expect(kinds(stateOf(yes, physician("beta", "yes", true), physician("beta", "yes", false)))).toEqual([
      "refused beta",
    ]);
  });

  it("never lets an arm be released that must not be used", () => {
    const state = stateOf(says("spare", "left"), says("arm", "left"), released("arm", "left"));
    expect(needleArm(state)).toBe("left");
    expect(kinds(state)).toEqual(["arm arm"]);
    expect(kinds(stateOf(says("spare", "left"), says("arm", "right")))).toEqual([]);
    // whichever is answered last, the two are compared
    expect(kinds(stateOf(says("arm", "left"), says("spare", "left")))).toEqual(["arm arm"]);
    expect(sparedArms(PACK, stateOf(says("spare", "both")))).toEqual(["right", "left"]);
    expect(sparedArms(PACK, stateOf(says("spare", "both"), released("spare", "both")))).toEqual([]);
    // why, in the pack's own words
    expect(sparedWords(PACK, state)).toEqual(["spare? left."]);
    expect(sparedWords(PACK, stateOf(says("spare", "neither")))).toEqual([]);
  });
});

describe("the way to the dye", () => {
  it("is closed by an open stop step, and no reason opens it", () => {
    const rest = [says("earlier", "no"), says("beta", "no"), says("spare", "neither")];
    expect(closedForDose(PACK, stateOf(...rest)).map((c) => c.step)).toEqual(["consent||"]);
    const passed: Saying = ["step.skipped", { step: "consent", reason: "no_time" }];
    expect(closedForDose(PACK, stateOf(...rest, passed))).toHaveLength(1);
    const release: Saying = [
      "stop.released",
      { question: null, step: "consent", by: "DX", role: "Doctor", words: "given by the parent" },
    ];
    expect(closedForDose(PACK, stateOf(...rest, release))).toEqual([]);
    expect(closedForDose(PACK, stateOf(...well))).toEqual([]);
  });

  it("says what is not answered", () => {
    const [first] = closedForDose(PACK, stateOf(consent));
    expect(first?.text).toContain("3 screening questions");
  });

  it("needs a dose, and a check that came after it and agrees", () => {
    const ready = [...well, says("arm", "right")];
    const closed = (...more: Saying[]) => closedForInjection(PACK, stateOf(...ready, ...more), "fluorescein");
    const states = (...more: Saying[]) => doseStanding(stateOf(...ready, ...more), "fluorescein").state;
    expect(states()).toBe("none");
    expect(states(check(true))).toBe("none");
    expect(states(dose)).toBe("unchecked");
    expect(states(dose, check(false))).toBe("differs");
    expect(states(dose, check(false), check(true))).toBe("agreed");
    expect(states(dose, check(true), dose)).toBe("unchecked");
    expect(closed(dose, check(true))).toEqual([]);
    for (const short of [[], [dose], [dose, check(false)], [dose, check(true), dose]])
      expect(closed(...short)).toHaveLength(1);
    expect(closed(dose, check(true), ["reaction.started", {}])).toHaveLength(1);
    expect(closedForInjection(PACK, stateOf(...well, dose, check(true)), "fluorescein")[0]?.screen).toBe(
      "ready",
    );
  });

  it("works no dose where the rules are not for this patient, and needs the order checked instead", () => {
    const flagged = { ...answer("yes", "stop"), dose_not_computed: true };
    const dialysis = question("dialysis", "patient", [answer("no", "go"), flagged], ["fluorescein"]);
    const pack = { ...PACK, screening: [...PACK.screening, dialysis] } as unknown as Pack;
    const yes = [says("dialysis", "yes"), released("dialysis", "yes")];
    const order = (agrees: boolean): Saying => [
      "dose.checked",
      { dye: "fluorescein", by: "QX", role: "Nurse", agrees, note: "as Dr DX said", what: "order" },
    ];
    const ready = [...well, says("arm", "right")];
    const closed = (...more: Saying[]) =>
      closedForInjection(pack, stateOf(...ready, ...more), "fluorescein").map((c) => c.text);
    const state = stateOf(...ready, ...yes);
    expect(notComputed(pack, state, "fluorescein").map((n) => n.question.id)).toEqual(["dialysis"]);
    expect(notComputed(pack, state, "green")).toEqual([]); // the question is not about that dye
    expect(closedForDose(pack, state)).toEqual([]);
    const [lacks] = closed(...yes);
    expect(lacks).toContain("the physician's own order");
    expect(closed(...yes, order(true))).toEqual([]);
    expect(closed(...yes, order(false))[0]).toContain("differs");
    // the stop is still a stop, and neither a worked dose nor its check stands for the order
    expect(closed(says("dialysis", "yes"), order(true))).toHaveLength(1);
    expect(closed(...yes, dose, check(true))).toEqual([lacks]);
    expect(closed(dose, check(true), ...yes)).toEqual([lacks]);
    // an order of before this answer is asked for anew; and where the answer is another, the dose is worked
    expect(closed(...yes, order(true), ...yes)).toEqual([lacks]);
    expect(closed(...yes, order(true), says("dialysis", "no"))[0]).toContain("not worked yet");
    expect(closed(dose, ...yes, order(true), says("dialysis", "no"))[0]).toContain("No second person");
    expect(orderStanding(pack, stateOf(...yes, order(true)), "fluorescein").check?.body.note).toBe(
      "as Dr DX said",
    );
  });

  it("knows whom flashing light may harm from any answer, released or not", () => {
    const light = { ...answer("light", "stop"), steady_light: true };
    const fits = question("fits", "patient", [answer("no", "go"), light]);
    const pack = { ...PACK, screening: [fits] } as unknown as Pack;
    expect(harmedByFlashes(pack, stateOf(says("fits", "light")))).toBe(true);
    expect(harmedByFlashes(pack, stateOf(says("fits", "light"), released("fits", "light")))).toBe(true);
    expect(harmedByFlashes(pack, stateOf(says("fits", "no")))).toBe(false);
    expect(harmedByFlashes(pack, stateOf())).toBe(false);
    const flagged = { ...stateOf(), flags: ["tremor", "photosensitive"] };
    expect([steadyFor(null, flagged), steadyFor(pack, flagged)]).toEqual([true, true]);
    expect(steadyFor(pack, stateOf(says("fits", "light")))).toBe(true);
    expect([steadyFor(pack, stateOf()), steadyFor(null, stateOf())]).toEqual([false, false]);
  });

  it("takes nobody's word for no release, and no earlier release for this answer's", () => {
    const nobody: Saying = [
      "stop.released",
      { question: "earlier", step: null, answer: "hives", by: "", role: "", words: " " },
    ];
    expect(kinds(stateOf(says("earlier", "hives"), nobody))).toEqual(["stop earlier"]);
    expect(kinds(stateOf(released("earlier", "hives"), says("earlier", "hives")))).toEqual(["stop earlier"]);
    const beta = says("beta", "yes");
    const goAhead = physician("beta", "yes", true);
    expect(kinds(stateOf(beta, goAhead, says("beta", "no"), beta))).toEqual(["ask beta"]);
    const again = [says("earlier", "hives"), released("earlier", "hives"), says("earlier", "no")];
    expect(kinds(stateOf(...again, says("earlier", "hives")))).toEqual(["stop earlier"]);
  });

  it("keeps a stop that a flag brought, when the flag is taken off, until it is released", () => {
    const when = { ...WHEN, flags: ["earlier_reaction"] };
    const step = {
      id: "reaction_on_file",
      stage: "s",
      weight: "stop",
      text: "T.",
      each: "case",
      when,
      fields: [],
    };
    const pack = { ...PACK, steps: [step] } as unknown as Pack;
    const flag = (...flags: string[]): Saying => ["case.flagged", { flags, study_eye: null }];
    const stops = (...more: Saying[]) => closedForDose(pack, stateOf(...well, ...more)).map((c) => c.step);
    expect(stops()).toEqual([]);
    expect(stops(flag("earlier_reaction"))).toEqual(["reaction_on_file||"]);
    expect(stops(flag("earlier_reaction"), flag())).toEqual(["reaction_on_file||"]);
    const skipped: Saying = ["step.skipped", { step: "reaction_on_file", reason: "released" }];
    expect(stops(flag("earlier_reaction"), skipped)).toEqual(["reaction_on_file||"]);
    const word: Saying = [
      "stop.released",
      { question: null, step: "reaction_on_file", by: "DX", role: "Doctor", words: "seen, goes on" },
    ];
    expect(stops(flag("earlier_reaction"), flag(), word)).toEqual([]);
  });

  it("a check stands only for the dose that it was made of, and one taken back leaves it unchecked", () => {
    const amend = (line: string, body: object | null): Saying => ["line.amended", { line, body, why: "w" }];
    const at = (...said: Saying[]) => doseStanding(stateOf(...said), "fluorescein").state;
    // lines are named by their place: l0 opened the case
    expect(at(dose, check(true))).toBe("agreed");
    expect(at(dose, check(true), amend("l1", { ...dose[1], dose_mg: "4620" }))).toBe("unchecked");
    expect(at(dose, check(true), amend("l1", { ...dose[1], dose_mg: "460" }), check(true))).toBe("agreed");
    expect(at(dose, check(true), check(false), amend("l3", null))).toBe("unchecked");
    // worked anew on another phone, and read before a check of the first working
    const of = (more: object): Saying => ["dose.checked", { ...check(true)[1], ...more }];
    expect(at(dose, dose, of({ dose_line: "l1" }))).toBe("unchecked");
    expect(at(dose, of({ volume_ml: "46.2" }))).toBe("unchecked");
    expect(at(dose, of({ dose_line: null, volume_ml: null }))).toBe("unchecked");
    for (const worked_by of ["", "q.x"]) expect(at(dose, of({ worked_by }))).toBe("unchecked");
  });

  it("asks after the injection until leak and flush are answered, or a leak ended it", () => {
    const leak = (is: boolean, moment = "at_injection"): Saying => [
      "leak.asked",
      { dye: "fluorescein", leak: is, moment },
    ];
    const settled = (...more: Saying[]) => askedAfter(stateOf(...more), "fluorescein");
    expect(settled()).toBe(false);
    expect(settled(leak(false))).toBe(false);
    expect(settled(leak(false), ["dye.flushed", { dye: "fluorescein" }])).toBe(true);
    expect(settled(leak(true))).toBe(true);
    expect(settled(leak(false, "at_the_end"), ["dye.flushed", { dye: "fluorescein" }])).toBe(false);
  });
});

describe("a dye left out", () => {
  it("leaves colour, and with it no question", () => {
    const state = stateOf(says("earlier", "hives"), [
      "dye.left_out",
      { modalities: ["fluorescein"], why: "stop" },
    ]);
    expect(state.modalities).toEqual(["colour"]);
    expect(kinds(state)).toEqual([]);
  });
});
