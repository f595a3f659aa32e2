/** Every answer at a glance; pressing one asks it again. */
import type { ScreeningQuestion } from "../../types.gen";
import { Icon } from "../../ui";
import { CONSEQUENCE_WORD } from "../tell/dye";
import type { Given } from "./course";
import { LEADS_ICON } from "./Led";

export function AnswersList({
  rows,
  onPick,
}: {
  rows: { question: ScreeningQuestion; given: Given | null }[];
  onPick: (question: string) => void;
}) {
  return (
    <section class="stack-tight" aria-label="All answers">
      <h2>All answers</h2>
      <ul class="answers-list">
        {rows.map(({ question, given }) => {
          const leads = given?.answer.consequence ?? "go";
          return (
            <li key={question.id}>
              <button type="button" class="answer-row" onClick={() => onPick(question.id)}>
                <span class={`leads-${leads}`}>
                  <Icon name={LEADS_ICON[leads]} />
                </span>
                <span>
                  {question.text}
                  <span class="choice-help">
                    {given?.answer.text ?? "Not answered"}
                    {leads === "go" ? "" : `: ${CONSEQUENCE_WORD[leads].toLowerCase()}`}
                    {given?.noted.body.note ? ` (${given.noted.body.note})` : ""}
                  </span>
                </span>
              </button>
            </li>
          );
        })}
      </ul>
    </section>
  );
}
