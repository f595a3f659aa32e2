/** Screening, one question at a time with large answers; then what is open, and every answer to look over. */
import "../dye/dye.css";
import { useState } from "preact/hooks";
import type { ScreeningAnswer, ScreeningQuestion } from "../../types.gen";
import { Button, Notice } from "../../ui";
import type { PanelProps } from "../guide";
import { record } from "../record";
import { AnswersList } from "./AnswersList";
import { ChangeWhy } from "./ChangeWhy";
import {
  ARM_QUESTION,
  answerTo,
  openOnes,
  type Part,
  questionsOf,
  softens,
  sparedArms,
  sparedWords,
  unanswered,
} from "./course";
import { Led } from "./Led";
import { OpenOnes } from "./OpenOnes";
import { QuestionCard } from "./QuestionCard";

interface Answering {
  question: ScreeningQuestion;
  given: ScreeningAnswer;
  note: string;
}

export function ScreeningPanel({ state, held, onSaved, part }: PanelProps & { part: Part }) {
  const { pack } = held;
  const questions = questionsOf(pack, state, part);
  const [picked, setPicked] = useState<string | null>(null);
  const [led, setLed] = useState<string | null>(null);
  const [changing, setChanging] = useState<Answering | null>(null);
  const missing = unanswered(pack, state, part);
  const open = openOnes(pack, state).filter((o) => o.question.part === part);
  const spared = sparedArms(pack, state);

  const consequenceOf = (question: ScreeningQuestion, given: ScreeningAnswer) =>
    question.id === ARM_QUESTION && spared.some((arm) => arm === given.id) ? "stop" : given.consequence;
  const save = async ({ question, given, note }: Answering, why: string): Promise<boolean> => {
    const consequence = consequenceOf(question, given);
    const body = { question: question.id, answer: given.id, note: note.trim(), consequence, why };
    if ((await record("screening.answered", body, { case: state.id })) === null) return false;
    setChanging(null);
    setLed(consequence === "go" ? null : question.id);
    setPicked(null);
    return true;
  };
  const answer = (now: Answering): void => {
    const before = answerTo(state, now.question);
    const was = before && (before.noted.body.consequence ?? before.answer.consequence);
    if (was && softens(was, consequenceOf(now.question, now.given))) setChanging(now);
    else void save(now, "");
  };

  if (questions.length === 0) {
    return (
      <div class="stack">
        <p>No dye is asked for, so there is nothing to ask here.</p>
        <Button kind="main" big wide onClick={() => void onSaved("no dye asked for")}>
          Go on
        </Button>
      </div>
    );
  }

  if (changing !== null) {
    return (
      <ChangeWhy
        id={`${state.id}/${changing.question.id}`}
        from={answerTo(state, changing.question)?.answer.text ?? ""}
        to={changing.given.text}
        onWhy={(why) => save(changing, why)}
        onLeave={() => {
          setChanging(null);
          setPicked(null);
        }}
      />
    );
  }

  const ledTo = questions.find((q) => q.id === led);
  if (ledTo !== undefined) {
    return (
      <Led
        state={state}
        pack={pack}
        question={ledTo}
        onNext={() => setLed(null)}
        onChange={() => {
          setLed(null);
          setPicked(ledTo.id);
        }}
      />
    );
  }

  const now = questions.find((q) => q.id === picked) ?? missing[0];
  if (now !== undefined) {
    const place = questions.indexOf(now);
    const before = questions[place - 1];
    return (
      <QuestionCard
        key={now.id}
        state={state}
        question={now}
        place={place + 1}
        of={questions.length}
        spared={spared}
        sparedBecause={sparedWords(pack, state)}
        onAnswer={(given, note) => answer({ question: now, given, note })}
        onBefore={before && (() => setPicked(before.id))}
      />
    );
  }

  const stops = open.filter((o) => o.kind !== "ask").length;
  const value = [
    `${questions.length} answered`,
    stops > 0 ? `${stops} stopped` : "",
    open.length > stops ? `${open.length - stops} to ask` : "",
  ]
    .filter(Boolean)
    .join(", ");
  return (
    <div class="stack">
      {open.length === 0 ? (
        <Notice kind="done" title="Every question is answered">
          <p>
            Nothing that this clinic's list asks for stands open. Whether the dye is given is for licensed
            staff and local protocol.
          </p>
        </Notice>
      ) : (
        <OpenOnes state={state} pack={pack} open={open} onChange={(id) => setPicked(id)} />
      )}
      <Button kind={open.length === 0 ? "main" : "plain"} big wide onClick={() => void onSaved(value)}>
        {open.length === 0 ? "Go on" : "Go on preparing; the dye stays closed"}
      </Button>
      <AnswersList
        rows={questions.map((question) => ({ question, given: answerTo(state, question) }))}
        onPick={(id) => setPicked(id)}
      />
    </div>
  );
}
