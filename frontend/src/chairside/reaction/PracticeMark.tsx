import type { CaseState } from "../../log";
import { Button, Tag } from "../../ui";
import { record, saving } from "../record";

/**
 * Practice, plain to see on every screen, with the way to say that it is real: one press, since whoever needs it has
 * no time. The whole case counts from then on, what was logged before too; a press by mistake can be amended.
 */
export function PracticeTag({ state }: { state: CaseState }) {
  // the first line that counts: its own envelope says so
  const real = () => record("practice.ended", {}, { case: state.id, practice: false });
  return (
    <>
      <Tag icon="practice" practice>
        Practice
      </Tag>
      <Button kind="warn" disabled={saving.value > 0} onClick={() => void real()}>
        This is real
      </Button>
    </>
  );
}
