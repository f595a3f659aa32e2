/** What the physician said of an answer that asks for them. */
import type { CaseState } from "../../log";
import type { Pack, ScreeningAnswer, ScreeningQuestion } from "../../types.gen";
import { Button, TextArea } from "../../ui";
import { useDraft } from "../drafts";
import { looksLikePerson, NO_NAMES } from "../names";
import { record, saving } from "../record";
import { LICENSED, NOBODY, Person, whoLacks } from "./Person";

export function PhysicianForm({
  state,
  pack,
  question,
  answer,
  onSaid,
}: {
  state: CaseState;
  pack: Pack;
  question: ScreeningQuestion;
  answer: ScreeningAnswer;
  onSaid: () => void;
}) {
  const [draft, change, drop] = useDraft(`physician/${state.id}/${question.id}/${answer.id}`, {
    ...NOBODY,
    words: "",
  });
  const lacks = whoLacks(draft);
  const said = async (goesOn: boolean): Promise<void> => {
    if (lacks !== null) return;
    const body = {
      question: question.id,
      answer: answer.id,
      by: draft.by.trim(),
      role: draft.role,
      goes_on: goesOn,
      words: draft.words.trim(),
    };
    if ((await record("physician.asked", body, { case: state.id })) === null) return;
    drop();
    onSaid();
  };
  return (
    <section class="stack" aria-label="What the physician says">
      <p class="strong">
        {question.text} {answer.text}.
      </p>
      <Person
        legend="Who decides"
        roles={pack.dosing?.releaser_roles ?? LICENSED}
        who={draft}
        onWho={change}
      />
      <TextArea
        label="What they said (may stay empty)"
        hint={NO_NAMES}
        value={draft.words}
        onText={(words) => change({ words })}
        maxLength={500}
        warning={looksLikePerson(draft.words) ?? undefined}
      />
      {lacks !== null && <p class="t-small quiet">{lacks}</p>}
      <div class="halves">
        <Button kind="danger" disabled={lacks !== null || saving.value > 0} onClick={() => void said(false)}>
          They say stop
        </Button>
        <Button kind="main" disabled={lacks !== null || saving.value > 0} onClick={() => void said(true)}>
          They say go on
        </Button>
      </div>
    </section>
  );
}
