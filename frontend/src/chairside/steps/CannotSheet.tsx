/** Passing a step that cannot be done: never without a reason from the pack. */
import type { CaseState } from "../../log";
import type { PlannedStep } from "../../pack";
import type { Pack } from "../../types.gen";
import { Button, PickOne, Sheet, TextArea } from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";

export function CannotSheet({
  state,
  pack,
  planned,
  onClose,
  onPassed,
}: {
  state: CaseState;
  pack: Pack;
  planned: PlannedStep;
  onClose: () => void;
  onPassed: () => void;
}) {
  const [{ reason, note }, change, drop] = useDraft<{ reason: string | null; note: string }>(
    `cannot/${state.id}/${planned.key}`,
    { reason: null, note: "" },
  );
  const needsNote = reason === "other";
  const pass = async (): Promise<void> => {
    if (reason === null) return;
    const body = {
      step: planned.step.id,
      reason,
      note: note.trim(),
      eye: planned.eye,
      optic: planned.optic,
    };
    if ((await record("step.skipped", body, { case: state.id })) === null) return;
    drop();
    onPassed();
  };
  return (
    <Sheet
      title="Why can't it be done?"
      onClose={onClose}
      foot={
        <Button
          kind="main"
          big
          wide
          disabled={reason === null || (needsNote && note.trim().length < 3) || saving.value > 0}
          onClick={pass}
        >
          Pass with this reason
        </Button>
      }
    >
      <div class="stack">
        <p class="quiet">{planned.step.text}</p>
        <PickOne
          legend="Reason"
          options={pack.choices.skip_reasons}
          value={reason}
          onPick={(id) => change({ reason: id })}
        />
        <TextArea
          label={needsNote ? "Which reason?" : "Note (if it helps)"}
          hint={NO_NAMES}
          value={note}
          onText={(text) => change({ note: text })}
          maxLength={300}
          warning={looksLikePerson(note) ?? undefined}
        />
      </div>
    </Sheet>
  );
}
