/** Words that carry a shape: how far a review is, and how heavy a harm. */
import type { IncidentRow } from "../../types.gen";
import { Icon, type IconName, Tag } from "../../ui";
import { harmWords, STATE_WORDS, sentence } from "../words";

const SHAPES: Record<IncidentRow["state"], IconName> = {
  new: "info",
  in_review: "eye",
  actions_open: "clock",
  closed: "tick",
};

export function ReviewTag({ state, late }: { state: IncidentRow["state"]; late: boolean }) {
  return (
    <span class="desk-tags">
      <Tag icon={SHAPES[state]}>{STATE_WORDS[state]}</Tag>
      {late && (
        <span class="desk-harm">
          <Icon name="warn" />
          lines came after it was closed
        </span>
      )}
    </span>
  );
}

/** The heavier degrees carry a shape as well as a colour. */
export function HarmWord({ harm }: { harm: IncidentRow["harm"] }) {
  const heavy = harm === "severe" || harm === "death";
  return (
    <span class={heavy ? "desk-harm-heavy" : harm === "moderate" ? "desk-harm" : ""}>
      {heavy ? <Icon name="danger" /> : harm === "moderate" ? <Icon name="warn" /> : null}
      {sentence(harmWords(harm))}
    </span>
  );
}
