/** Stopping the series: no more frames are called for; the dye's clock goes on. */
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, Sheet, TextArea } from "../../ui";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";

const WHY = [
  { text: "The patient cannot go on", forPatient: true },
  { text: "The clinician has what is needed", forPatient: false },
  { text: "The images cannot be had", forPatient: false },
] as const;

export function Stop({ state }: { state: CaseState }) {
  const [open, setOpen] = useState(false);
  const [why, setWhy] = useState("");
  const stop = async (text: string, forPatient: boolean): Promise<void> => {
    const body = { why: text, for_patient: forPatient };
    if ((await record("series.stopped", body, { case: state.id })) !== null) setOpen(false);
  };
  return (
    <>
      <Button wide onClick={() => setOpen(true)}>
        Stop the series
      </Button>
      {open && (
        <Sheet small title="Why stop the series?" onClose={() => setOpen(false)}>
          <div class="stack">
            <p>The clock of the dye goes on, and so does the watch over the patient.</p>
            {WHY.map(({ text, forPatient }) => (
              <Button key={text} wide disabled={saving.value > 0} onClick={() => void stop(text, forPatient)}>
                {text}
              </Button>
            ))}
            <TextArea
              label="Another reason"
              hint={`It counts as for the patient's sake: where the clinic watches longer then, so does this phone. ${NO_NAMES}`}
              value={why}
              onText={setWhy}
              warning={looksLikePerson(why) ?? undefined}
              maxLength={300}
            />
            <Button
              kind="main"
              wide
              disabled={why.trim() === "" || saving.value > 0}
              onClick={() => void stop(why.trim(), true)}
            >
              Stop for this reason
            </Button>
          </div>
        </Sheet>
      )}
    </>
  );
}
