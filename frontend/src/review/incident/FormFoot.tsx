import { useEffect } from "preact/hooks";
import type { Review } from "../../types.gen";
import { Button, Notice } from "../../ui";
import type { Answer } from "../api";
import { Refusal } from "../parts/states";
import type { Reviewing } from "./useReview";

/** What became of a decision: refused in words, or overtaken by another person's, with what was typed kept. */
export function FormFoot({ answer, reviewing }: { answer: Answer<Review> | null; reviewing: Reviewing }) {
  useEffect(() => reviewing.writing(), [reviewing.writing]);
  if (answer?.state !== "refused" || answer.status !== 409) return <Refusal answer={answer} />;
  const { meanwhile, lookAgain } = reviewing;
  const overtaken = answer.fault.code === "changed_meanwhile";
  if (!meanwhile) {
    if (!overtaken) return <Refusal answer={answer} />;
    return (
      <p role="status">
        You see it as it stands now. What you wrote is kept: save it again if it still holds.
      </p>
    );
  }
  return (
    <Notice kind="warn" title="Somebody else changed this meanwhile" loud>
      <p>Nothing of yours was saved, and nothing of what you wrote is lost.</p>
      {!overtaken && <p>{answer.fault.why}.</p>}
      <ul class="list">
        {meanwhile.said.map((said) => (
          <li key={said}>{said}</li>
        ))}
      </ul>
      <p>
        <Button onClick={lookAgain}>Look again</Button>
      </p>
    </Notice>
  );
}
