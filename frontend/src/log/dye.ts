/** The dye's part of a case: what was answered, released, worked, checked, injected and watched. Pure. */
import type {
  BodyOf,
  DoseChecked,
  DoseWorked,
  DyeFlushed,
  DyeInjected,
  DyeLeftOut,
  LeakAsked,
  PhysicianAsked,
  ScreeningAnswered,
  StopReleased,
  TakeawayGiven,
  WatchEnded,
  WatchStarted,
} from "../types.gen";
import type { Noted } from "./case";

/** `boot` names the start of the app that `pressed_mono` counts from. */
export type Injected = Noted<DyeInjected> & { boot: string };

export interface DyeCourse {
  /** By the question's id: the answer that stands. */
  screening: Map<string, Noted<ScreeningAnswered>>;
  /** What the physician said; for one answer the last counts. */
  asked: Noted<PhysicianAsked>[];
  leftOut: Noted<DyeLeftOut>[];
  released: Noted<StopReleased>[];
  doses: Noted<DoseWorked>[];
  checks: Noted<DoseChecked>[];
  /** In order; the first of a dye is the zero of its clock. */
  injected: Injected[];
  flushed: Noted<DyeFlushed>[];
  leaks: Noted<LeakAsked>[];
  watches: Noted<WatchStarted>[];
  watchEnds: Noted<WatchEnded>[];
  takeaways: Noted<TakeawayGiven>[];
}

export function noDye(): DyeCourse {
  return {
    screening: new Map(),
    asked: [],
    leftOut: [],
    released: [],
    doses: [],
    checks: [],
    injected: [],
    flushed: [],
    leaks: [],
    watches: [],
    watchEnds: [],
    takeaways: [],
  };
}

type Apply<B> = (dye: DyeCourse, noted: Noted<B>, boot: string) => void;
type DyeAppliers = { [T in keyof BodyOf]?: Apply<BodyOf[T]> };

export const DYE_APPLIERS: DyeAppliers = {
  "screening.answered": (d, noted) => d.screening.set(noted.body.question, noted),
  "physician.asked": (d, noted) => d.asked.push(noted),
  "dye.left_out": (d, noted) => d.leftOut.push(noted),
  "stop.released": (d, noted) => d.released.push(noted),
  "dose.worked": (d, noted) => d.doses.push(noted),
  "dose.checked": (d, noted) => d.checks.push(noted),
  "dye.injected": (d, noted, boot) => d.injected.push({ ...noted, boot }),
  "dye.flushed": (d, noted) => d.flushed.push(noted),
  "leak.asked": (d, noted) => d.leaks.push(noted),
  "watch.started": (d, noted) => d.watches.push(noted),
  "watch.ended": (d, noted) => d.watchEnds.push(noted),
  "takeaway.given": (d, noted) => d.takeaways.push(noted),
};

type Check = (value: unknown) => boolean;
const TEXT: Check = (value) => typeof value === "string";
const NUMBER: Check = (value) => typeof value === "number";
const YES_NO: Check = (value) => typeof value === "boolean";
const LIST: Check = (value) => Array.isArray(value);
const GIVEN: Check = (value) => value !== undefined;

/** What these bodies must have before they may change a case. */
export const DYE_NEEDS: Partial<Record<keyof BodyOf, Record<string, Check>>> = {
  "screening.answered": { question: TEXT, answer: TEXT },
  "physician.asked": { question: TEXT, answer: TEXT, by: TEXT, role: TEXT, goes_on: YES_NO },
  "dye.left_out": { modalities: LIST, why: TEXT },
  "stop.released": { question: GIVEN, step: GIVEN, by: TEXT, role: TEXT, words: TEXT },
  "dose.worked": {
    dye: TEXT,
    weight_kg: GIVEN,
    concentration_mg_ml: TEXT,
    dose_mg: TEXT,
    volume_ml: TEXT,
    capped: YES_NO,
    working: TEXT,
  },
  "dose.checked": { dye: TEXT, by: TEXT, role: TEXT, agrees: YES_NO },
  "dye.injected": { dye: TEXT, arm: GIVEN, route: TEXT, pressed_at: NUMBER, pressed_mono: NUMBER },
  "dye.flushed": { dye: TEXT },
  "leak.asked": { dye: TEXT, leak: YES_NO },
  "watch.started": { minutes: NUMBER, rules: LIST, since: NUMBER },
  "watch.ended": { after_min: NUMBER, early: YES_NO },
  "takeaway.given": { language: TEXT, how: TEXT, parts: LIST },
};
