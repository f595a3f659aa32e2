/** After the needle is out: the arm looked at, once for each dye that went in. */
import "../dye/dye.css";
import { Button, Notice } from "../../ui";
import { eventPrefill, type PanelProps } from "../guide";
import { record, saving } from "../record";
import { openOver } from "../router";

export function ArmPanel({ state, onSaved, step }: PanelProps & { step: string | null }) {
  const dyes = [...new Set(state.dye.injected.map((i) => i.body.dye))];
  const ended = state.dye.leaks.filter((l) => l.body.moment === "at_the_end");
  const answered = dyes.length > 0 && dyes.every((d) => ended.some((l) => l.body.dye === d));
  const bad = ended.some((l) => l.body.leak);
  const answer = async (leak: boolean): Promise<void> => {
    for (const dye of dyes) {
      const body = { dye, leak, note: "", moment: "at_the_end" as const };
      if ((await record("leak.asked", body, { case: state.id })) === null) return;
    }
    if (!leak) return onSaved("nothing seen");
    eventPrefill.value = { what: "leak_at_needle", reached_patient: true, step };
    openOver("event");
  };
  if (dyes.length === 0)
    return (
      <div class="stack">
        <p>No dye was injected in this case.</p>
        <Button kind="main" big wide onClick={() => void onSaved("no dye was injected")}>
          Go on
        </Button>
      </div>
    );
  if (answered)
    return (
      <div class="stack">
        {bad && (
          <Notice kind="warn" title="Something was seen at the arm">
            <p>The person who injected or the physician looks at it before the patient goes.</p>
          </Notice>
        )}
        <Button
          kind="main"
          big
          wide
          disabled={saving.value > 0}
          onClick={() => void onSaved(bad ? "swelling, pain or redness" : "nothing seen")}
        >
          Go on
        </Button>
      </div>
    );
  return (
    <div class="stack">
      <p>Look and ask: swelling, pain, redness, a hard cord, numb fingers?</p>
      <div class="pair-big">
        <Button kind="main" big icon="tick" disabled={saving.value > 0} onClick={() => void answer(false)}>
          Nothing seen
        </Button>
        <Button kind="danger" big icon="danger" disabled={saving.value > 0} onClick={() => void answer(true)}>
          Something
        </Button>
      </div>
    </div>
  );
}
