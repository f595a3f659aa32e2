/** How long the chin has been in the rest without a break. Pure. */
import { type CaseState, endedAt } from "../../log";

/**
 * When the present stretch in the rest began, or null when there is none: the first head position or frame since the
 * last break, or since the last emergency ended. Nobody has to start a clock for it.
 */
export function restSince(
  state: Pick<CaseState, "found" | "frames" | "bursts" | "pauses" | "reactions" | "state">,
): number | null {
  if (state.state !== "open") return null;
  const pause = state.pauses.at(-1);
  if (pause?.body.state === "started") return null;
  const reaction = state.reactions.at(-1);
  if (reaction && reaction.ended === null) return null;
  const from = Math.max(pause?.at ?? 0, (reaction && endedAt(reaction)) ?? 0);
  const seated = [...state.found, ...state.frames, ...state.bursts]
    .map((n) => n.at)
    .filter((at) => at > from);
  return seated.length === 0 ? null : Math.min(...seated);
}

/** How many whole intervals have passed: a break is offered at each, and putting one offer away leaves the next. */
export function breaksDue(since: number, now: number, everyMin: number): number {
  return everyMin <= 0 ? 0 : Math.max(0, Math.floor((now - since) / (everyMin * 60_000)));
}
