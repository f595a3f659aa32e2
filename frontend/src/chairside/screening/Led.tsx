/** What an answer leads to, in words, before the next question. */
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Pack, ScreeningAnswer, ScreeningQuestion } from "../../types.gen";
import { Button, type IconName, Notice } from "../../ui";
import { CONSEQUENCE_WORD } from "../tell/dye";
import { answerTo, openOnes } from "./course";
import { PhysicianForm } from "./PhysicianForm";
import { ReleaseForm } from "./ReleaseForm";

export const LEADS_ICON: Record<ScreeningAnswer["consequence"], IconName> = {
  go: "tick",
  note: "info",
  ask: "warn",
  stop: "danger",
};
const NOTICE = { note: "info", ask: "warn", stop: "danger" } as const;

const WHAT: Record<"note" | "ask" | "stop", string> = {
  note: "It is kept with the case.",
  ask: "No dye until the physician has been asked and says go on.",
  stop: "No dye. Only a licensed person can release this, by name and in their own words.",
};

export function Led({
  state,
  pack,
  question,
  onNext,
  onChange,
}: {
  state: CaseState;
  pack: Pack;
  question: ScreeningQuestion;
  onNext: () => void;
  onChange: () => void;
}) {
  const [form, setForm] = useState(false);
  const answer = answerTo(state, question)?.answer;
  const mine = openOnes(pack, state).filter((o) => o.question.id === question.id);
  const open = mine.find((o) => o.kind !== "arm") ?? null;
  const wrongArm = mine.some((o) => o.kind === "arm");
  return (
    <div class="stack">
      {wrongArm && (
        <Notice kind="danger" title="Stop: the wrong arm" loud>
          <p>
            The needle is in an arm that must not be used. Nothing goes through it. No release passes this.
          </p>
          <p>The person who injects takes it out and places another. Then answer again.</p>
        </Notice>
      )}
      {!wrongArm && answer && answer.consequence !== "go" && (
        <Notice kind={NOTICE[answer.consequence]} title={CONSEQUENCE_WORD[answer.consequence]} loud>
          <p class="strong">{answer.text}</p>
          {answer.do !== "" && <p>{answer.do}</p>}
          <p>{WHAT[answer.consequence]}</p>
        </Notice>
      )}
      {form && open !== null && open.kind === "ask" && (
        <PhysicianForm {...{ state, pack, question }} answer={open.answer} onSaid={() => setForm(false)} />
      )}
      {form && open !== null && open.kind !== "ask" && (
        <ReleaseForm
          state={state}
          pack={pack}
          what={{ question: question.id, answer: open.answer.id, step: null, eye: null, optic: null }}
          text={`${question.text} ${open.answer.text}.`}
          onReleased={() => setForm(false)}
        />
      )}
      {!form && (
        <>
          {wrongArm ? (
            <Button kind="main" big wide onClick={onChange}>
              Answer again
            </Button>
          ) : (
            <Button kind="main" big wide icon="forward" onClick={onNext}>
              Next question
            </Button>
          )}
          {open !== null && (
            <Button wide onClick={() => setForm(true)}>
              {open.kind === "ask" ? "They have been asked" : "It is released now"}
            </Button>
          )}
          {wrongArm ? (
            <Button wide onClick={onNext}>
              Leave it for now
            </Button>
          ) : (
            <Button kind="quiet" onClick={onChange}>
              Change this answer
            </Button>
          )}
        </>
      )}
    </div>
  );
}
