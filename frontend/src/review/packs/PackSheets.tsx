import { useState } from "preact/hooks";
import type { PackRow } from "../../types.gen";
import { Button, Notice, PickMany, Sheet, TextField } from "../../ui";
import { type Answer, post } from "../api";
import { packOf } from "../names";
import { Refusal } from "../parts/states";

interface Props {
  row: PackRow;
  onClose: (done: boolean) => void;
}

export function ApproveSheet({ row, onClose }: Props) {
  const sites = packOf(row.sha256)?.sites ?? [];
  const [chosen, setChosen] = useState<string[]>([]);
  const [note, setNote] = useState("");
  const sending = useSending(`/api/packs/${row.sha256}/approve`, onClose);
  return (
    <Sheet title={`Approve version ${row.version}`} small onClose={() => onClose(false)}>
      <form class="stack" onSubmit={sending.send({ sites: chosen, note: note.trim() })}>
        <p>
          Your name, the time and this pack's hash go into the log. Phones of these sites take it between
          cases.
        </p>
        <PickMany
          legend="Sites"
          options={sites.map((s) => ({ id: s.id, text: s.name }))}
          values={chosen}
          onPick={setChosen}
        />
        <TextField label="Note" value={note} onText={setNote} maxLength={500} />
        <Refusal answer={sending.answer} />
        <Button kind="main" type="submit" disabled={sending.busy || chosen.length === 0}>
          Approve for {chosen.length === 1 ? "1 site" : `${chosen.length} sites`}
        </Button>
      </form>
    </Sheet>
  );
}

export function RecallSheet({ row, onClose }: Props) {
  const [why, setWhy] = useState("");
  const sending = useSending(`/api/packs/${row.sha256}/recall`, onClose);
  return (
    <Sheet title={`Recall version ${row.version}`} small danger onClose={() => onClose(false)}>
      <form class="stack" onSubmit={sending.send({ why: why.trim() })}>
        <Notice kind="warn">
          <p>
            Every phone shows the reason at its next contact, even in mid-case. A recall cannot be taken back.
          </p>
        </Notice>
        <TextField
          label="Why"
          hint="Say what not to trust, and what to do instead."
          value={why}
          onText={setWhy}
          maxLength={500}
        />
        <Refusal answer={sending.answer} />
        <Button kind="danger" type="submit" disabled={sending.busy || !why.trim()}>
          Recall this pack
        </Button>
      </form>
    </Sheet>
  );
}

function useSending(path: string, onClose: (done: boolean) => void) {
  const [answer, setAnswer] = useState<Answer<unknown> | null>(null);
  const [busy, setBusy] = useState(false);
  const send = (body: unknown) => async (event: Event) => {
    event.preventDefault();
    setBusy(true);
    const got = await post(path, body);
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onClose(true);
  };
  return { answer, busy, send };
}
