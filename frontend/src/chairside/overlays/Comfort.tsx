import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { Button, Notice, PickMany, ScaleKeys, Sheet, TextArea } from "../../ui";
import { comfortAdvice } from "../comfort/advice";
import { Faces } from "../comfort/Faces";
import { restSince } from "../comfort/rest";
import { Trend } from "../comfort/Trend";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { span } from "../words";

interface Draft {
  score: number | null;
  bothers: string[];
  note: string;
}

/** How the patient is, 0 to 10, and what bothers. A threshold or a rise suggests a pause. */
export function Comfort({
  state,
  held,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  onClose: () => void;
}) {
  const [d, change, drop] = useDraft<Draft>(`comfort/${state.id}`, { score: null, bothers: [], note: "" });
  const [advice, setAdvice] = useState<string | null>(null);
  const paused = state.pauses.at(-1)?.body.state === "started";
  const rest = restSince(state);
  const say = held?.pack.phrases[held.pack.language]?.comfort;

  const note = async () => {
    if (d.score === null) return;
    const before = state.comfort.map((c) => c.body.score);
    const body = { score: d.score, bothers: d.bothers, note: d.note.trim() };
    if (!(await record("comfort.noted", body, { case: state.id }))) return;
    drop();
    const suggests = held ? comfortAdvice(before, d.score, held.pack.thresholds) : null;
    if (suggests === null || paused) onClose();
    else setAdvice(suggests);
  };
  const pause = async (why: string) => {
    if (await record("pause.noted", { state: "started", why }, { case: state.id })) onClose();
  };

  if (advice !== null) {
    return (
      <Sheet
        title="Comfort noted"
        back="Go on without"
        onClose={onClose}
        foot={
          <Button kind="main" big wide disabled={saving.value > 0} onClick={() => void pause(advice)}>
            Start a pause
          </Button>
        }
      >
        <Notice kind="warn" title="Offer a pause" loud>
          <p>{advice}</p>
          <p>Draw back, let the patient sit back, ask what would help.</p>
        </Notice>
      </Sheet>
    );
  }
  return (
    <Sheet
      title="Comfort"
      onClose={onClose}
      foot={
        <Button
          kind="main"
          big
          wide
          disabled={d.score === null || saving.value > 0}
          onClick={() => void note()}
        >
          {d.score === null ? "Pick a number" : `Note ${d.score} of 10`}
        </Button>
      }
    >
      <div class="stack">
        {say && <p class="say">“{say}”</p>}
        <ScaleKeys
          label="Comfort from 0, comfortable, to 10, as bad as can be"
          least={0}
          most={10}
          value={d.score}
          onPick={(score) => change({ score })}
        />
        <p class="row-ends t-small quiet">
          <span>0: at ease</span>
          <span>10: as bad as can be</span>
        </p>
        <Faces value={d.score} onPick={(score) => change({ score })} />
        <Trend noted={state.comfort} />
        {rest !== null && (
          <p class="row-ends">
            <span>In the rest for {span(Date.now() - rest)}</span>
            <Button disabled={saving.value > 0} onClick={() => void pause("break from the chin rest")}>
              Start a break
            </Button>
          </p>
        )}
        <PickMany
          legend="What bothers"
          across
          options={held?.pack.choices.bothers ?? []}
          values={d.bothers}
          onPick={(bothers) => change({ bothers })}
        />
        <TextArea
          label="Note (may stay empty)"
          hint={NO_NAMES}
          value={d.note}
          onText={(text) => change({ note: text })}
          maxLength={300}
          warning={looksLikePerson(d.note) ?? undefined}
        />
      </div>
    </Sheet>
  );
}
