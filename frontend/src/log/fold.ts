/** Folds the lines of one case into the case as it stands. Pure. */
import type { BodyOf } from "../types.gen";
import { afterAmendments, type Standing } from "./amend";
import { type CaseState, type Noted, stepKey } from "./case";
import { DYE_APPLIERS, noDye } from "./dye";
import { lackOf, standsAllTheSame } from "./lacking";
import type { Line } from "./line";
import { claimed, inOrder } from "./order";
import { noPlan, PLAN_APPLIERS } from "./plans";
import { noReactions, REACTION_APPLIERS } from "./reactions";

type Body = Record<string, unknown>;
type Apply<B> = (state: CaseState, noted: Noted<B>, clocks: { mono: number; boot: string }) => void;
type Appliers = { [T in keyof BodyOf]?: Apply<BodyOf[T]> };

const APPLY: Appliers = {
  "case.opened": (s, { at, device, body }) => {
    s.code = body.code;
    s.eyes = [...body.eyes];
    s.studyEye = body.study_eye ?? null;
    s.modalities = [...body.modalities];
    s.crossSections = body.cross_sections;
    s.flags = [...body.flags];
    s.note = body.note ?? "";
    s.openedAt = at;
    s.heldBy = device;
  },
  "case.flagged": (s, { body }) => {
    s.flags = [...body.flags];
    s.studyEye = body.study_eye ?? null;
  },
  "case.taken": (s, { device }) => {
    s.heldBy = device;
    s.handedTo = null;
  },
  "optic.chosen": (s, { body }) => {
    const { optic } = body;
    if (s.optic === optic) return;
    if (s.optics.includes(optic)) {
      // put on again: what was checked when it was on before says nothing of how it sits now
      for (const key of s.steps.keys()) if (key.endsWith(`|${optic}`)) s.steps.delete(key);
    } else {
      s.optics.push(optic);
    }
    s.optic = optic;
    s.opticRuns.push(optic);
  },
  "step.done": (s, { line, at, body }) => {
    s.steps.set(stepKey(body.step, body.eye, body.optic), {
      state: "done",
      line,
      at,
      value: body.value ?? null,
    });
  },
  "step.skipped": (s, { line, at, body }) => {
    s.steps.set(stepKey(body.step, body.eye, body.optic), {
      state: "skipped",
      line,
      at,
      reason: body.reason,
      note: body.note ?? "",
    });
  },
  // the dye's own part of it stands in dye.ts
  "stop.released": (s, { line, at, body }) => {
    if (body.step === null) return;
    s.steps.set(stepKey(body.step, body.eye, body.optic), {
      state: "skipped",
      line,
      at,
      reason: "released",
      note: `${body.by}, ${body.role}: ${body.words}`,
    });
  },
  "dye.left_out": (s, { body }) => {
    const left = s.modalities.filter((m) => !body.modalities.includes(m));
    s.modalities = left.length > 0 ? left : ["colour"];
  },
  "face.measured": (s, noted) => {
    s.face[noted.body.eye] = noted;
  },
  "pupil.measured": (s, noted) => {
    s.pupil[noted.body.eye] = noted;
  },
  "fixation.chosen": (s, noted) => {
    s.fixation[noted.body.eye] = noted;
  },
  "pose.advised": (s, noted) => s.advised.push(noted),
  "pose.found": (s, noted) => s.found.push(noted),
  "frame.taken": (s, noted) => s.frames.push(noted),
  "series.laid": (s, noted) => s.laid.push(noted),
  "series.burst": (s, noted) => s.bursts.push(noted),
  "series.looked": (s, noted) => s.looked.push(noted),
  "series.stopped": (s, noted) => s.seriesStopped.push(noted),
  "clock.uncertain": (s, noted, clocks) => s.clockUncertain.push({ ...noted, ...clocks }),
  "comfort.noted": (s, noted) => s.comfort.push(noted),
  "pause.noted": (s, noted) => s.pauses.push(noted),
  "safety.noted": (s, noted) => s.safety.push(noted),
  "case.handed_over": (s, { body }) => {
    s.handedTo = body.to;
  },
  "case.closed": (s, { at, body }) => {
    s.state = "closed";
    s.outcome = body.outcome;
    s.closedAt = at;
  },
  "line.amended": () => undefined, // its work is done: it changed the line that it names
};

/** Before any of its lines. */
export function blank(
  first: Pick<Line["envelope"], "at" | "case" | "device" | "pack" | "practice">,
): CaseState {
  const { device, at, pack, practice } = first;
  return {
    id: first.case ?? "",
    code: "",
    practice: practice === true,
    eyes: [],
    studyEye: null,
    modalities: [],
    crossSections: false,
    flags: [],
    note: "",
    state: "open",
    outcome: null,
    openedAt: at,
    closedAt: null,
    lastAt: at,
    latest: at,
    pack: pack ?? null,
    heldBy: device,
    optic: null,
    optics: [],
    opticRuns: [],
    steps: new Map(),
    face: {},
    pupil: {},
    fixation: {},
    advised: [],
    found: [],
    frames: [],
    laid: [],
    bursts: [],
    looked: [],
    seriesStopped: [],
    clockUncertain: [],
    comfort: [],
    pauses: [],
    safety: [],
    dye: noDye(),
    plan: noPlan(),
    ...noReactions(),
    handedTo: null,
    entries: [],
  };
}

/** The line that opened the case: by preference one that stands. */
function opening(standing: readonly Standing[]): Standing | undefined {
  const all = standing.filter((one) => one.line.envelope.type === "case.opened" && one.known);
  return all.find((one) => !one.withdrawn) ?? all[0];
}

/** The case as it stands, from its lines in any order, or null when there are none. Lines that this version does
 * not know stay as entries and change nothing else. `known`: made anew for this fold, what is known of a case whose other
 * lines can't be read. */
export function foldCase(lines: Iterable<Line>, known: CaseState | null = null): CaseState | null {
  const standing = afterAmendments(inOrder(lines));
  // a phone with a slow clock may seem to come first: the line that opened the case is the one that counts
  const opened = opening(standing);
  const origin = opened ?? standing[0];
  const state = known ?? (origin ? blank(origin.line.envelope) : null);
  if (!state) return null;
  state.opened = known !== null || opened !== undefined;
  for (const one of standing) {
    const { line, known, body, amendedBy, withdrawn } = one;
    const { id, device, seq, at, mono, boot, actor, type, pack, practice } = line.envelope;
    const applies = type === "case.opened" ? one === opened : !withdrawn;
    const lacks =
      known && body && applies
        ? lackOf(type, body, (question) => state.dye.screening.get(question)?.body.consequence)
        : null;
    if (known && body && applies && standsAllTheSame(lacks)) {
      const applier = (APPLY[type as keyof BodyOf] ?? REACTION_APPLIERS[type as keyof BodyOf]) as
        | Apply<Body>
        | undefined;
      applier?.(state, { line: id, at, device, body }, { mono, boot });
      const dyed = DYE_APPLIERS[type as keyof BodyOf] as
        | ((dye: CaseState["dye"], noted: Noted<Body>, boot: string) => void)
        | undefined;
      dyed?.(state.dye, { line: id, at, device, body }, boot);
      const planned = PLAN_APPLIERS[type as keyof BodyOf] as
        | ((plan: CaseState["plan"], noted: Noted<Body>) => void)
        | undefined;
      planned?.(state.plan, { line: id, at, device, body });
    }
    state.lastAt = Math.max(state.lastAt, at);
    state.latest = Math.max(state.latest, claimed(line.envelope));
    state.entries.push({
      line: id,
      device,
      seq,
      at,
      actor: actor ?? null,
      type,
      known,
      pack: pack ?? null,
      practice: practice === true,
      body,
      written: known ? line.body : null,
      amendedBy,
      withdrawn,
      lacks,
    });
  }
  return state;
}
