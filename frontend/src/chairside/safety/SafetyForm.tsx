import { useEffect, useRef } from "preact/hooks";
import type { Choices } from "../../types.gen";
import { Button, PickMany, PickOne, TextArea } from "../../ui";
import { looksLikePerson, NO_NAMES } from "../names";
import { after, type Question, questionsFor, type SafetyDraft, unsaid } from "./record";

const ASKS: Record<Question, string> = {
  what: "What happened?",
  reached: "Did it reach the patient?",
  harm: "Harm, as far as you see it now",
  signs: "Signs, as seen or told",
  done: "What was done?",
  told: "Who was told?",
  note: "Anything else?",
};

const REACHED = [
  { id: "yes", text: "Yes" },
  { id: "no", text: "No", help: "A near miss: worth knowing, nobody touched by it." },
  { id: "unknown", text: "Not known yet" },
];

/**
 * One question at a time, so that a record takes few taps and no scrolling hunt: a single answer leads on by itself.
 * The caller's foot can record it at any moment from the first answer on.
 */
export function SafetyForm({
  draft,
  onChange,
  choices,
  at,
  onAt,
}: {
  draft: SafetyDraft;
  onChange: (change: Partial<SafetyDraft>) => void;
  choices: Choices;
  at: Question;
  onAt: (question: Question) => void;
}) {
  const list = questionsFor(draft);
  const place = list.indexOf(at);
  // a single answer leads on, but only where this question was not answered before: going back to look stays put
  const one = (change: Partial<SafetyDraft>, fresh: boolean) => {
    onChange(change);
    const next = after({ ...draft, ...change }, at);
    if (fresh && next) onAt(next);
  };
  const top = useRef<HTMLDivElement>(null);
  const first = useRef(true);
  useEffect(() => {
    // a new question begins at its top, for the eye and for a reader; the first one leaves the focus to the sheet
    if (!first.current) {
      top.current?.closest(".sheet-body")?.scrollTo(0, 0);
      top.current?.focus({ preventScroll: true });
    }
    first.current = false;
  }, [at]);
  return (
    <div class="stack" ref={top} tabIndex={-1}>
      <p class="row-ends t-small quiet">
        <span>
          Question {place + 1} of {list.length}
        </span>
        {place > 0 && (
          <Button kind="quiet" icon="back" onClick={() => onAt(list[place - 1] ?? "what")}>
            Question before
          </Button>
        )}
      </p>
      {at === "what" && (
        <PickOne
          legend={ASKS.what}
          across
          options={choices.safety_what}
          value={draft.what}
          onPick={(what) => one({ what }, draft.what === null)}
        />
      )}
      {at === "reached" && (
        <PickOne
          legend={ASKS.reached}
          options={REACHED}
          value={draft.reached}
          onPick={(id) => one({ reached: id as SafetyDraft["reached"] }, draft.reached === null)}
        />
      )}
      {at === "harm" && (
        <PickOne
          legend={ASKS.harm}
          hint={`Scale: ${choices.harm_scale}`}
          options={[...choices.harm, { id: "unknown", text: "Not known yet" }]}
          value={draft.harm}
          onPick={(id) => one({ harm: id as SafetyDraft["harm"] }, draft.harm === null)}
        />
      )}
      {at === "signs" && (
        <PickMany
          legend={ASKS.signs}
          hint="Pick all that hold. They are kept as signs; nothing is graded here."
          across
          options={choices.signs}
          values={draft.signs}
          onPick={(signs) => onChange({ signs })}
        />
      )}
      {at === "done" && (
        <PickMany
          legend={ASKS.done}
          hint="Pick all that hold."
          across
          options={choices.safety_done}
          values={draft.done}
          onPick={(done) => onChange({ done })}
        />
      )}
      {at === "told" && (
        <PickMany
          legend={ASKS.told}
          hint="Pick all that hold."
          across
          options={choices.told}
          values={draft.told}
          onPick={(told) => onChange({ told })}
        />
      )}
      {at === "note" && (
        <TextArea
          label={ASKS.note}
          hint={`In your own words, or nothing. ${NO_NAMES}`}
          value={draft.note}
          onText={(note) => onChange({ note })}
          maxLength={1000}
          warning={looksLikePerson(draft.note) ?? undefined}
        />
      )}
    </div>
  );
}

/** The foot of the form: on to the next question, or record what is known. */
export function SafetyFoot({
  draft,
  at,
  onAt,
  onRecord,
  busy,
  word,
}: {
  draft: SafetyDraft;
  at: Question;
  onAt: (question: Question) => void;
  onRecord: () => void;
  busy: boolean;
  word: string;
}) {
  const next = after(draft, at);
  const lacks = unsaid(draft);
  return (
    <div class="stack-tight">
      {draft.what !== null && lacks.length > 0 && next === null && (
        <p class="t-small quiet">Not said: {lacks.join(", ")}. It can be added later.</p>
      )}
      <div class="foot-pair">
        <Button
          kind={next === null ? "main" : "plain"}
          disabled={draft.what === null || busy}
          onClick={onRecord}
        >
          {word}
        </Button>
        {next !== null && (
          <Button kind="main" icon="forward" disabled={draft.what === null} onClick={() => onAt(next)}>
            Next
          </Button>
        )}
      </div>
    </div>
  );
}
