/** What of the case in hand stays readable on a locked phone, so that a dye's clock goes on and an event is logged where
 * it belongs. It names no patient: the case's id is random, and its code is not here. */
import type { BodyOf } from "../../types.gen";
import type { CaseState } from "../case";
import { running } from "../reactions";
import type { BeganReaction, DyeZero, InHand, Reading, Where } from "../types";

/** By the lines that are here. What a team agreed on, when both clocks had failed, is a new zero. */
function zerosOf(state: CaseState | undefined, device: string): Map<string, DyeZero> {
  const zeros = new Map<string, DyeZero>();
  for (const { body, boot, device: by } of state?.dye.injected ?? []) {
    const { dye, pressed_at: at, pressed_mono: mono } = body;
    if (!zeros.has(dye)) zeros.set(dye, { dye, at, mono, boot, seconds: 0, foreign: by !== device });
  }
  for (const { body, at, mono, boot, device: by } of state?.clockUncertain ?? []) {
    const seconds = body.agreed_s;
    if (seconds == null || !zeros.has(body.dye)) continue;
    zeros.set(body.dye, { dye: body.dye, at, mono, boot, seconds, foreign: by !== device });
  }
  return zeros;
}

function reactionAfter(
  state: CaseState | undefined,
  device: string,
  type: keyof BodyOf,
  now: Reading,
): BeganReaction | null {
  if (type === "reaction.ended") return null;
  const runs = state && running(state);
  if (runs) return { at: runs.at, mono: runs.mono, boot: runs.boot, device: runs.device };
  return type === "reaction.started" ? { ...now, device } : null;
}

/** What is in hand once this line stands; null where it ends a case, undefined where it changes nothing. `state`: the
 * case before it. */
export function inHandAfter(
  state: CaseState | undefined,
  device: string,
  type: keyof BodyOf,
  body: object,
  where: Where,
  now: Reading,
): InHand | null | undefined {
  if (where.case === null) return undefined;
  if (type === "case.closed") return null;
  const zeros = zerosOf(state, device);
  if (type === "dye.injected") {
    const { dye, pressed_at: at, pressed_mono: mono } = body as BodyOf["dye.injected"];
    if (!zeros.has(dye)) zeros.set(dye, { dye, at, mono, boot: now.boot, seconds: 0, foreign: false });
  }
  if (type === "clock.uncertain") {
    const { dye, agreed_s: seconds } = body as BodyOf["clock.uncertain"];
    if (seconds != null && zeros.has(dye)) zeros.set(dye, { ...now, dye, seconds, foreign: false });
  }
  return {
    case: where.case,
    practice: type !== "practice.ended" && (where.practice ?? state?.practice ?? false),
    pack: where.pack ?? state?.pack ?? null,
    latest: Math.max(now.at, state?.latest ?? 0),
    dyes: [...zeros.values()],
    reaction: reactionAfter(state, device, type, now),
  };
}
