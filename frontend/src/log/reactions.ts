/** The reactions of a case: what was seen, read and done since the way out was opened. Pure. The server folds them by
 * the same rules. */
import type {
  BodyOf,
  ReactionAction,
  ReactionAttached,
  ReactionEnded,
  ReactionHandedOver,
  ReactionObserved,
} from "../types.gen";
import type { CaseState, Noted } from "./case";

/** The count at a line, since the start that `boot` names. */
interface Counted {
  mono: number;
  boot: string;
}

/** One reaction. `at` is the zero of its clock, by the time of day; `ended` null: it runs. */
export interface Reaction extends Counted {
  line: string;
  at: number;
  device: string;
  /** Every sign that was ever seen, in the order in which it was first seen, and whether it is seen now. */
  signs: Map<string, { seen: boolean; at: number }>;
  actions: (Noted<ReactionAction> & Counted)[];
  readings: (Noted<ReactionObserved> & Counted)[];
  handed: Noted<ReactionHandedOver> | null;
  ended: Noted<ReactionEnded> | null;
}

/** What reactions add to a case. */
export interface ReactionCourse {
  /** Whether the line that opened the case is there. */
  opened: boolean;
  reactions: Reaction[];
  /** Lines that tie a reaction with no case of its own to a case, from either end. */
  attached: Noted<ReactionAttached>[];
}

export function noReactions(): ReactionCourse {
  return { opened: false, reactions: [], attached: [] };
}

/** The reaction that runs, or null. */
export function running(state: Pick<CaseState, "reactions">): Reaction | null {
  return state.reactions.findLast((r) => r.ended === null) ?? null;
}

/** When it ended, by the time of day; null while it runs. An end that was told afterwards is as many minutes after the
 * opening as was told, or else when it was told. */
export function endedAt({ at, ended }: Pick<Reaction, "at" | "ended">): number | null {
  if (ended === null) return null;
  const minutes = ended.body?.after_min ?? null;
  if (minutes === null || minutes < 0) return ended.at;
  return Math.min(at + Math.round(minutes * 60_000), Math.max(ended.at, at));
}

/** Whether these lines stand under an id that no case was opened under: a reaction by itself. */
export function isOnlyReaction(state: Pick<CaseState, "opened" | "reactions">): boolean {
  return !state.opened && state.reactions.length > 0;
}

/** Whether these lines are a reaction that was opened with no case, and nobody has said yet whose it was. */
export function isLoose(state: Pick<CaseState, "opened" | "reactions" | "attached">): boolean {
  return isOnlyReaction(state) && state.attached.length === 0;
}

type Apply<B> = (state: CaseState, noted: Noted<B>, clocks: Counted) => void;
type Appliers = { [T in keyof BodyOf]?: Apply<BodyOf[T]> };

/** A part belongs to the reaction that was opened last, ended or not: another phone's line may come a moment late. */
const last = (state: CaseState): Reaction | undefined => state.reactions.at(-1);

export const REACTION_APPLIERS: Appliers = {
  "reaction.started": (s, { line, at, device }, clocks) => {
    if (running(s)) return; // opened on a second phone while this one runs: one reaction
    s.reactions.push({
      line,
      at,
      ...clocks,
      device,
      signs: new Map(),
      actions: [],
      readings: [],
      handed: null,
      ended: null,
    });
  },
  "reaction.sign": (s, { at, body }) => {
    const signs = last(s)?.signs;
    const before = signs?.get(body.sign);
    if (before || body.seen) signs?.set(body.sign, { seen: body.seen, at: before?.at ?? at });
  },
  "reaction.action": (s, noted, clocks) => void last(s)?.actions.push({ ...noted, ...clocks }),
  "reaction.observed": (s, noted, clocks) => void last(s)?.readings.push({ ...noted, ...clocks }),
  "reaction.handed_over": (s, noted) => {
    const reaction = last(s);
    if (reaction) reaction.handed = noted;
  },
  "reaction.ended": (s, noted) => {
    const reaction = last(s);
    if (reaction) reaction.ended = noted;
  },
  "reaction.attached": (s, noted) => void s.attached.push(noted),
  "practice.ended": (s) => {
    s.practice = false;
  },
};

type Check = (value: unknown) => boolean;
const TEXT: Check = (value) => typeof value === "string";
const YES_NO: Check = (value) => typeof value === "boolean";
const GIVEN: Check = (value) => value !== undefined;

/** What these bodies must have before they may change a case. */
export const REACTION_NEEDS: Partial<Record<keyof BodyOf, Record<string, Check>>> = {
  "reaction.started": {},
  "reaction.sign": { sign: TEXT, seen: YES_NO },
  "reaction.action": { action: TEXT },
  "reaction.observed": {},
  "reaction.handed_over": { to: TEXT },
  "reaction.ended": { outcome: TEXT },
  "reaction.attached": { reaction: TEXT, to: GIVEN },
  "practice.ended": {},
};
