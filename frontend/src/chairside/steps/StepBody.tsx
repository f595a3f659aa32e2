/** What a step shows beneath its sentence, by its screen; each ends in one large way on. */
import { useEffect, useRef } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Held, PlannedStep } from "../../pack";
import { Button, NumberPad, TextArea } from "../../ui";
import { useDraft } from "../drafts";
import type { PanelProps } from "../guide";
import { looksLikePerson, NO_NAMES } from "../names";
import {
  FacePanel,
  FixationPanel,
  FoundPanel,
  FramesPanel,
  OpticPanel,
  PositionPanel,
  PupilPanel,
  SeriesStep,
} from "../panels";
import { saving } from "../record";
import { isOver, openOver } from "../router";
import { DyeBody } from "./DyeBody";

interface BodyProps {
  state: CaseState;
  held: Held;
  planned: PlannedStep;
  marked: boolean;
  onDone: (value?: string) => Promise<void>;
  onNext: () => void;
  /** Asks why it cannot be done. */
  onCannot: () => void;
}

export function StepBody(props: BodyProps) {
  const { state, held, planned, marked, onDone, onNext } = props;
  const { step, eye, optic } = planned;
  const panel: PanelProps = {
    state,
    held,
    round: { eye, optic },
    onSaved: onDone,
    // a step that is marked already has its answer
    onNone: marked ? onNext : props.onCannot,
  };
  switch (step.screen) {
    case "optic":
      return <OpticPanel {...panel} />;
    case "face":
      return <FacePanel {...panel} />;
    case "pupil":
      return <PupilPanel {...panel} />;
    case "fixation":
      return <FixationPanel {...panel} />;
    case "position":
      return <PositionPanel {...panel} onUsed={onDone} />;
    case "found":
      return <FoundPanel {...panel} />;
    case "frames":
      return <FramesPanel {...panel} wanted={step.fields} />;
    case "series":
      return <SeriesStep {...panel} wanted={step.fields} />;
    case "comfort":
      return <ComfortBody {...props} />;
    case "text":
      return <TextBody {...props} />;
    case "number":
      return <NumberBody {...props} />;
    case "screening":
    case "ready":
    case "release":
    case "dose":
    case "inject":
    case "arm":
    case "watch":
    case "takeaway":
    case "images":
      return <DyeBody planned={planned} panel={panel} onNext={onNext} />;
    case "tick":
      return (
        <div class="stack">
          <Shows {...props} />
          {marked ? (
            <Button kind="main" big wide onClick={onNext}>
              Next
            </Button>
          ) : (
            <Button kind="main" big wide icon="tick" disabled={saving.value > 0} onClick={() => onDone()}>
              {step.weight === "note" ? "Read" : "Done"}
            </Button>
          )}
        </div>
      );
  }
}

/** The optic's own sentences, as its handbook has them. */
function Shows({ held, planned }: BodyProps) {
  const { shows } = planned.step;
  const optic = held.pack.optics.find((o) => o.id === planned.optic);
  if (shows === "nothing" || optic === undefined) return null;
  const lines = shows === "swap_steps" ? optic.swap_steps : optic.focus_steps;
  if (lines.length === 0) return null;
  return (
    <section class="card" aria-label={`${optic.name}: its own steps`}>
      <h2>{optic.name}</h2>
      <ol class="numbered">
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ol>
    </section>
  );
}

/**
 * A comfort check lies over the step; when it has been logged and put away, the step is done with its score. Not
 * sooner: the check may offer a pause, and going on would take that away before anybody has read it.
 */
function ComfortBody({ state, marked, onDone, onNext }: BodyProps) {
  const known = useRef(state.comfort.length);
  const latest = state.comfort.at(-1);
  const asking = isOver("comfort");
  useEffect(() => {
    if (asking) return;
    if (!marked && state.comfort.length > known.current && latest !== undefined) {
      void onDone(`${latest.body.score} of 10`);
    }
    known.current = state.comfort.length;
  }, [state.comfort.length, asking]);
  return (
    <div class="stack">
      {latest !== undefined && (
        <p class="quiet">
          Last answer: <span class="number">{latest.body.score}</span> of 10.
        </p>
      )}
      <Button kind={marked ? "plain" : "main"} big wide icon="comfort" onClick={() => openOver("comfort")}>
        Ask, and log it
      </Button>
      {marked && (
        <Button kind="main" big wide onClick={onNext}>
          Next
        </Button>
      )}
    </div>
  );
}

function TextBody({ state, planned, onDone }: BodyProps) {
  const [draft, change, drop] = useDraft(`${state.id}:${planned.key}`, {
    text: state.steps.get(planned.key)?.value ?? "",
  });
  const warning = looksLikePerson(draft.text);
  return (
    <div class="stack">
      <TextArea
        label="In a few words"
        hint={NO_NAMES}
        value={draft.text}
        onText={(text) => change({ text })}
        warning={warning ?? undefined}
        maxLength={300}
      />
      <Button
        kind="main"
        big
        wide
        disabled={draft.text.trim() === "" || saving.value > 0}
        onClick={() => onDone(draft.text.trim()).then(drop)}
      >
        Save
      </Button>
    </div>
  );
}

function NumberBody({ state, planned, onDone }: BodyProps) {
  const { unit, least, most } = planned.step;
  const [draft, change, drop] = useDraft(`${state.id}:${planned.key}`, { text: "" });
  return (
    <NumberPad
      label={unit === "" ? "Number" : unit === "min" ? "Minutes" : `In ${unit}`}
      text={draft.text}
      rule={{ unit, least: least ?? 0, most: most ?? 9999, decimals: unit === "min" ? 0 : 1 }}
      onText={(text) => change({ text })}
      onDone={(value) => void onDone(`${value} ${unit}`.trim()).then(drop)}
      done="Save"
    />
  );
}
