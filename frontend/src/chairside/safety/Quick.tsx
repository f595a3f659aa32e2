import { useEffect, useRef } from "preact/hooks";
import type { Choices } from "../../types.gen";
import { Button } from "../../ui";
import type { Question, SafetyDraft } from "./record";

const ASKS: Record<Question, string> = {
  what: "What happened?",
  reached: "Did it reach the patient?",
  harm: "Harm, as far as you see it now",
};

interface Answer {
  id: string;
  text: string;
  help?: string;
}

const UNKNOWN: Answer = { id: "unknown", text: "Not known yet" };
const REACHED: Answer[] = [
  { id: "yes", text: "Yes" },
  { id: "no", text: "No", help: "A near miss: worth knowing, nobody touched by it." },
  UNKNOWN,
];

/** One question at a time, each answer one press of a large key, and on record with that press. */
export function Quick({
  at,
  choices,
  onAnswer,
  busy,
}: {
  at: Question;
  choices: Choices;
  onAnswer: (answer: Partial<SafetyDraft>) => void;
  busy: boolean;
}) {
  const top = useRef<HTMLHeadingElement>(null);
  const first = useRef(true);
  useEffect(() => {
    // a new question begins at its top, for the eye and for a reader; the first one leaves the focus to the sheet
    if (!first.current) {
      top.current?.closest(".sheet-body")?.scrollTo(0, 0);
      top.current?.focus({ preventScroll: true });
    }
    first.current = false;
  }, [at]);
  const answers: readonly Answer[] =
    at === "what" ? choices.safety_what : at === "reached" ? REACHED : [...choices.harm, UNKNOWN];
  return (
    <section class="stack" aria-labelledby="asks">
      <h2 id="asks" class="t-do" ref={top} tabIndex={-1}>
        {ASKS[at]}
      </h2>
      {at === "what" && <p class="t-small quiet">The press records it, with its time.</p>}
      {at === "harm" && <p class="t-small quiet">Scale: {choices.harm_scale}.</p>}
      <div class={at === "what" ? "emergency-grid" : "stack-tight"}>
        {answers.map((a) => (
          <Button
            key={a.id}
            wide={at !== "what"}
            disabled={busy}
            onClick={() => onAnswer({ [at]: a.id } as Partial<SafetyDraft>)}
          >
            {a.text}
            {a.help && <span class="choice-help">{a.help}</span>}
          </Button>
        ))}
      </div>
    </section>
  );
}
