/** A frame is to be taken again: that stands in the log from the press on; its reason is added to the same line. */
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { Button, Sheet } from "../../ui";
import { record, saving } from "../record";

export function WhyAgain({
  state,
  pack,
  line,
  onClose,
}: {
  state: CaseState;
  pack: Pack;
  /** The line that says "again". */
  line: string;
  onClose: () => void;
}) {
  const noted = state.frames.find((frame) => frame.line === line);
  const tell = async (reason: string): Promise<void> => {
    if (noted === undefined) return;
    const { salt: _salt, ...before } = noted.body;
    const told = { line, body: { ...before, reason }, why: "told after the press" };
    if (await record("line.amended", told, { case: state.id })) onClose();
  };
  const undo = async (): Promise<void> => {
    if (await record("line.amended", { line, body: null, why: "pressed by mistake" }, { case: state.id }))
      onClose();
  };
  const busy = noted === undefined || saving.value > 0;
  return (
    <Sheet small title="Why again?" back="No reason" onClose={onClose}>
      <div class="stack">
        <p class="quiet t-small">It is logged, and asked for again.</p>
        <ul class="why-again">
          {pack.choices.frame_again.map((c) => (
            <li key={c.id}>
              <Button wide disabled={busy} onClick={() => void tell(c.id)}>
                {c.text}
              </Button>
            </li>
          ))}
        </ul>
        <Button kind="quiet" disabled={busy} onClick={() => void undo()}>
          Pressed by mistake
        </Button>
      </div>
    </Sheet>
  );
}
