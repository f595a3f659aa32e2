import type { Timeline } from "../../types.gen";
import { Notice } from "../../ui";
import { erasedOf } from "../tellingErasures";

/** Stands above a case whose content was erased. */
export function Erased({ timeline }: { timeline: Timeline | null }) {
  const erased = timeline && erasedOf(timeline);
  if (!erased) return null;
  return (
    <Notice title={erased.title}>
      <p>
        Rule: {erased.why}. What was written of the case is gone; that each line stood here remains, and so do
        what the desk decided, without its words, and what the rates count.
      </p>
    </Notice>
  );
}
