import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, Notice, Tag } from "../../ui";
import { record, saving } from "../record";

const endPractice = (state: CaseState) =>
  // the first line that counts: its own envelope says so
  record("practice.ended", {}, { case: state.id, practice: false });

/** The same in the head of a screen: one press, since whoever needs it has no time. It can be amended. */
export function PracticeTag({ state }: { state: CaseState }) {
  return (
    <>
      <Tag icon="practice" practice>
        Practice
      </Tag>
      <Button kind="warn" disabled={saving.value > 0} onClick={() => void endPractice(state)}>
        This is real
      </Button>
    </>
  );
}

/** Practice, plain to see over everything of an emergency, with the way to say that it is real. */
export function PracticeMark({ state }: { state: CaseState }) {
  const [asked, setAsked] = useState(false);
  if (!state.practice) return null;
  const real = async () => {
    if (await endPractice(state)) setAsked(false);
  };
  return (
    <Notice kind="practice" title="Practice: nothing here is counted" loud={asked}>
      {asked && (
        <p>
          The whole case counts from now on, what was logged before too. What was only played can be amended
          later.
        </p>
      )}
      <div class="row">
        <Button kind="warn" disabled={saving.value > 0} onClick={() => void real()}>
          This is real
        </Button>
        {!asked && (
          <Button kind="quiet" onClick={() => setAsked(true)}>
            What does that do?
          </Button>
        )}
      </div>
    </Notice>
  );
}
