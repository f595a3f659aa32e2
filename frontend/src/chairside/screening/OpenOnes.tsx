/** Everything that stands between this case and its dye, each with its own way on. */
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { Button, Notice, Sheet } from "../../ui";
import type { Open } from "./course";
import { LeaveOut } from "./LeaveOut";
import { PhysicianForm } from "./PhysicianForm";
import { ReleaseForm } from "./ReleaseForm";

const TITLE: Record<Open["kind"], string> = {
  stop: "Stop",
  refused: "The physician says stop",
  ask: "Ask the physician",
  arm: "Stop: the wrong arm",
};

export function OpenOnes({
  state,
  pack,
  open,
  onChange,
}: {
  state: CaseState;
  pack: Pack;
  open: Open[];
  /** Answers a question again. */
  onChange: (question: string) => void;
}) {
  const [at, setAt] = useState<string | null>(null);
  const key = (o: Open): string => `${o.kind} ${o.question.id} ${o.answer.id}`;
  const now = open.find((o) => key(o) === at) ?? null;
  const stop = open.find((o) => o.kind !== "ask") ?? open[0];
  const put = (): void => setAt(null);
  return (
    <section class="stack" aria-label="Open before the dye">
      <h2>No dye yet</h2>
      {open.map((o) => (
        <Notice key={key(o)} kind={o.kind === "ask" ? "warn" : "danger"} title={TITLE[o.kind]}>
          <p>
            {o.question.text} <span class="strong">{o.answer.text}.</span>
          </p>
          {o.answer.do !== "" && <p>{o.answer.do}</p>}
          <div class="stack-tight">
            {o.kind !== "arm" && (
              <Button wide onClick={() => setAt(key(o))}>
                {o.kind === "ask" ? "They have been asked" : "A licensed person releases it"}
              </Button>
            )}
            <Button kind={o.kind === "arm" ? "main" : "quiet"} onClick={() => onChange(o.question.id)}>
              {o.kind === "arm" ? "Another needle: answer again" : "The answer was different"}
            </Button>
          </div>
        </Notice>
      ))}
      {stop !== undefined && (
        <LeaveOut
          state={state}
          question={stop.question.id}
          step={null}
          why={`${TITLE[stop.kind].toLowerCase()}: ${stop.question.text} ${stop.answer.text}.`}
          onLeft={put}
        />
      )}
      {now !== null && (
        <Sheet title={now.kind === "ask" ? "Their answer" : "Release of a stop"} onClose={put}>
          {now.kind === "ask" ? (
            <PhysicianForm {...{ state, pack }} question={now.question} answer={now.answer} onSaid={put} />
          ) : (
            <ReleaseForm
              state={state}
              pack={pack}
              what={{ question: now.question.id, answer: now.answer.id, step: null, eye: null, optic: null }}
              text={`${now.question.text} ${now.answer.text}.`}
              onReleased={put}
            />
          )}
        </Sheet>
      )}
    </section>
  );
}
