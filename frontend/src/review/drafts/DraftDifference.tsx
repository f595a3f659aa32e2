import { useState } from "preact/hooks";
import type { Draft, PackDifference } from "../../types.gen";
import { Button } from "../../ui";
import { useAsked } from "../asked";
import { Differences } from "../packs/Differences";
import { Waiting } from "../parts/states";

/** In words, what the draft changes of the pack that it was made from. */
export function DraftDifference({ draft }: { draft: Draft }) {
  const [asked, setAsked] = useState(0); // the save that was asked about
  const wanted = asked === draft.number;
  const path = `/api/drafts/${encodeURIComponent(draft.draft)}/difference`;
  const { answer, again } = useAsked<PackDifference>(wanted ? path : null, draft.number);
  return (
    <section class="desk-part" aria-label="What the draft changes">
      <h2>What the draft changes</h2>
      {!wanted && (
        <p>
          <Button disabled={draft.faults.length > 0} onClick={() => setAsked(draft.number)}>
            Say what it changes
          </Button>
        </p>
      )}
      {wanted && (
        <Waiting
          answer={answer}
          what="what differs; turns and gaps are worked out anew, which takes some seconds"
          again={again}
        />
      )}
      {wanted && answer?.state === "ready" && <Differences found={answer.value} />}
    </section>
  );
}
