import { useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import type { Held } from "../../pack";
import { Button, PickMany, Segmented, Sheet } from "../../ui";
import { record, saving } from "../record";

/** What to know about the patient, as it turns out in the room: the whole list anew. Steps follow it at once. */
export function FlagsSheet({ state, held, onClose }: { state: CaseState; held: Held; onClose: () => void }) {
  const [flags, setFlags] = useState(state.flags);
  const [study, setStudy] = useState<Eye | null>(state.studyEye);
  const save = async () => {
    if (await record("case.flagged", { flags, study_eye: study }, { case: state.id })) onClose();
  };
  return (
    <Sheet
      title="What to know about the patient"
      back="Leave it"
      onClose={onClose}
      foot={
        <Button kind="main" big wide disabled={saving.value > 0} onClick={() => void save()}>
          Save
        </Button>
      }
    >
      <div class="stack">
        {state.eyes.length > 1 && (
          <Segmented<Eye>
            legend="Study eye"
            options={[
              { id: "right", text: "Right" },
              { id: "left", text: "Left" },
            ]}
            value={study}
            onPick={setStudy}
          />
        )}
        <PickMany
          legend="Pick all that hold"
          options={held.pack.choices.flags}
          values={flags}
          onPick={setFlags}
        />
      </div>
    </Sheet>
  );
}
