import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, LinkButton, PickOne, TextField } from "../../ui";
import { app } from "../app";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { clock } from "../words";

const NOBODY = "none";

/** Says whose case a reaction was that was opened with none: a line at either end, so that each leads to the other. */
export function Attach({ state, onDone }: { state: CaseState; onDone: () => void }) {
  const [to, setTo] = useState<string | null>(null);
  const [note, setNote] = useState("");
  const cases = app.log.cases.value.filter((c) => c.opened);
  const save = async () => {
    if (to === null) return;
    const target = to === NOBODY ? undefined : cases.find((c) => c.id === to);
    const body = {
      reaction: state.id,
      to: target?.id ?? null,
      code: target?.code ?? "",
      note: note.trim(),
    };
    // the far end first: were the phone to die between the two, the list would ask again
    if (target && !(await record("reaction.attached", body, { case: target.id }))) return;
    if (await record("reaction.attached", body, { case: state.id })) onDone();
  };
  return (
    <div class="stack">
      <PickOne
        legend="Whose emergency was it?"
        options={[
          ...cases.slice(0, 12).map((c) => ({
            id: c.id,
            text: c.code,
            help: `${c.state === "open" ? "Open" : "Closed"}, since ${clock(c.openedAt)}${c.practice ? ", practice" : ""}`,
          })),
          { id: NOBODY, text: "Of no case", help: "A visitor, staff, or nobody at all. Say which below." },
        ]}
        value={to}
        onPick={setTo}
      />
      <LinkButton href="#/new">Begin its case first</LinkButton>
      <TextField
        label="Note (may stay empty)"
        hint={NO_NAMES}
        value={note}
        onText={setNote}
        maxLength={300}
        warning={looksLikePerson(note) ?? undefined}
      />
      <Button kind="main" big wide disabled={to === null || saving.value > 0} onClick={() => void save()}>
        Save
      </Button>
    </div>
  );
}
