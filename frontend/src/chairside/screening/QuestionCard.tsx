/** One question with its answers as large buttons. Each says what it leads to before it is pressed. */
import { useEffect, useRef } from "preact/hooks";
import type { CaseState } from "../../log";
import type { ScreeningAnswer, ScreeningQuestion } from "../../types.gen";
import { Button, Fold, Icon, Notice, TextArea } from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { saving } from "../record";
import { CONSEQUENCE_WORD } from "../tell/dye";
import { ARM_QUESTION, type Arm } from "./course";
import { LEADS_ICON } from "./Led";

export function QuestionCard({
  state,
  question,
  place,
  of,
  spared,
  sparedBecause,
  onAnswer,
  onBefore,
}: {
  state: CaseState;
  question: ScreeningQuestion;
  place: number;
  of: number;
  spared: readonly Arm[];
  /** What was answered that rules out an arm. */
  sparedBecause: readonly string[];
  onAnswer: (given: ScreeningAnswer, note: string) => void;
  onBefore?: (() => void) | undefined;
}) {
  const said = state.dye.screening.get(question.id)?.body;
  const [draft, change, drop] = useDraft(`screening/${state.id}/${question.id}`, { note: said?.note ?? "" });
  const top = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    // a new question is read out from its top
    top.current?.focus({ preventScroll: true });
  }, [question.id]);
  const give = (given: ScreeningAnswer): void => {
    drop();
    onAnswer(given, draft.note);
  };
  return (
    <section class="stack" aria-label={`Question ${place} of ${of}`}>
      <div class="row-ends links">
        <p class="quiet t-small">
          Question <span class="number">{place}</span> of <span class="number">{of}</span>
        </p>
        {onBefore && (
          <Button kind="quiet" icon="back" onClick={onBefore}>
            Question before
          </Button>
        )}
      </div>
      <h2 class="t-do" ref={top} tabIndex={-1}>
        {question.text}
      </h2>
      {question.answers.length > 2 && (
        <p class="t-small quiet">If more than one is true, press the one furthest down.</p>
      )}
      {question.id === ARM_QUESTION && spared.length > 0 && (
        <Notice
          kind="danger"
          title={spared.length > 1 ? "Neither arm may be used" : `Never the ${spared[0]} arm`}
        >
          <p>It was answered in the screening:</p>
          {sparedBecause.map((words) => (
            <p key={words}>{words}</p>
          ))}
        </Notice>
      )}
      <div class="big-answers">
        {question.answers.map((answer) => (
          <Button
            key={answer.id}
            wide
            pressed={said?.answer === answer.id}
            disabled={saving.value > 0}
            onClick={() => give(answer)}
          >
            {answer.text}
            {answer.consequence !== "go" && (
              <span class={`answer-leads leads-${answer.consequence}`}>
                <Icon name={LEADS_ICON[answer.consequence]} /> {CONSEQUENCE_WORD[answer.consequence]}
              </span>
            )}
          </Button>
        ))}
      </div>
      <Fold
        word={draft.note === "" ? "Add a note, or see why" : "The note, and why"}
        open={draft.note !== ""}
      >
        <div class="stack">
          <TextArea
            label="Note (kept with the answer)"
            hint={NO_NAMES}
            value={draft.note}
            onText={(note) => change({ note })}
            maxLength={300}
            warning={looksLikePerson(draft.note) ?? undefined}
          />
          {question.why !== "" && <p>{question.why}</p>}
          <p class="t-small quiet">Source: {question.source}</p>
        </div>
      </Fold>
    </section>
  );
}
