import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, TextField } from "../../ui";
import { looksLikePerson } from "../names";
import { timeOfDay } from "../reaction/remind";
import { record, saving } from "../record";

/** What was given and how much, as said aloud then: added to the line that has its time. */
export function DrugMore({ state, line }: { state: CaseState; line: string }) {
  const act = state.reactions.flatMap((r) => r.actions).find((a) => a.line === line);
  const [drug, setDrug] = useState(act?.body.drug ?? "");
  const [dose, setDose] = useState(act?.body.dose ?? "");
  const [by, setBy] = useState(act?.body.by ?? "");
  if (!act) return null;
  const save = () => {
    const { salt: _salt, ...before } = act.body;
    const body = { ...before, drug: drug.trim(), dose: dose.trim(), by: by.trim() };
    return record("line.amended", { line, body, why: "told afterwards" }, { case: state.id });
  };
  return (
    <div class="stack">
      <p>Given at {timeOfDay(act.at)}. As said aloud by whoever gave it; “not known” is an answer too.</p>
      <TextField label="What" value={drug} onText={setDrug} maxLength={60} />
      <TextField label="How much" value={dose} onText={setDose} maxLength={60} />
      <TextField
        label="By whom"
        hint="A role or initials."
        value={by}
        onText={setBy}
        maxLength={40}
        warning={looksLikePerson(by) ?? undefined}
      />
      <Button
        kind="main"
        wide
        disabled={!drug.trim() || !dose.trim() || saving.value > 0}
        onClick={() => void save()}
      >
        Save
      </Button>
    </div>
  );
}
