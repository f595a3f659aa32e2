/** One step at a time: the one thing to do, then done or why not. */
import "../guide.css";
import "../position/position.css";
import { useState } from "preact/hooks";
import { stepsFor } from "../../pack";
import { Button, Fold, Icon, Notice, Tag } from "../../ui";
import { app } from "../app";
import { situationOf } from "../guide";
import { later } from "../later";
import { StopSheet } from "../panels";
import { saving } from "../record";
import { closeOver, goCase, isOver, openOver } from "../router";
import type { CaseScreenProps } from "../routes";
import { CannotSheet } from "../steps/CannotSheet";
import { goOn, markDone } from "../steps/finish";
import { binds, mustsBefore, nextOpen, progress, shown, stepBefore } from "../steps/flow";
import { roundWords } from "../steps/round";
import { Say } from "../steps/Say";
import { StepBody } from "../steps/StepBody";
import { Weight } from "../steps/Weight";
import { clock } from "../words";

const JumpSheet = later(() => import("../further").then((m) => m.JumpSheet));

const LEADS = new Set(["position", "screening", "ready", "inject"]);

export function Screen({ state, held, tail }: CaseScreenProps) {
  const { pack } = held;
  const [sheet, setSheet] = useState<"cannot" | null>(null);
  const plan = stepsFor(pack, situationOf(state));
  const now = shown(plan, state.steps, tail[0] ?? null, state.optic);
  const stages = progress(plan, state.steps, pack.stages);
  const jump = isOver("steps") && (
    <JumpSheet
      state={state}
      pack={pack}
      plan={plan}
      current={now?.key ?? null}
      onClose={closeOver}
      onPick={(key) => goCase(state.id, "step", key)}
    />
  );
  if (now === null) {
    return (
      <div class="stack">
        <h1>Every step is done or passed with a reason.</h1>
        <p>Hand the case over or close it when the patient has left the room.</p>
        <Button kind="main" big wide onClick={() => openOver("finish")}>
          Close or hand over
        </Button>
        <Button wide onClick={() => openOver("steps")}>
          All steps
        </Button>
        {jump}
      </div>
    );
  }
  const stage = stages.find((s) => s.id === now.step.stage);
  const mark = state.steps.get(now.key);
  const next = nextOpen(plan, state.steps, now.key, state.optic);
  const previous = stepBefore(plan, now.key);
  const blocking = mark === undefined ? mustsBefore(plan, state.steps, now.key, state.optic)[0] : undefined;
  const round = roundWords(pack, now);
  // there a number or a question comes first, and the sentences around it stand back
  const turns = LEADS.has(now.step.screen);
  const done = async (value?: string): Promise<void> => {
    const fresh = app.log.caseOf(state.id) ?? state;
    // what was saved may have taken this step out of the plan: then there is nothing to mark
    const stands = stepsFor(pack, situationOf(fresh)).some((p) => p.key === now.key);
    if (!stands || (await markDone(state, now, value))) goOn(state, held, now.key);
  };
  const on = (): void => goOn(state, held, now.key);
  return (
    <article class="stack" key={now.key}>
      <div class="stack-tight">
        <button type="button" class="stage-line" onClick={() => openOver("steps")}>
          <span>
            <span class="strong">{stage?.name}</span>{" "}
            <span class="quiet number t-small">
              {stage?.passed} of {stage?.total}
            </span>
          </span>
          <span class="stage-all">
            All steps <Icon name="forward" />
          </span>
        </button>
        <Bar stages={stages} here={now.step.stage} />
      </div>
      <div class="row">
        <Weight kind={now.step.weight} />
        {round !== "" && <span class="tag round-tag">{round}</span>}
        {now.optic !== null && now.optic !== state.optic && <Tag icon="info">Not the optic that is on</Tag>}
      </div>
      <h1 class={turns ? "only-heard" : ""}>{now.step.text}</h1>
      {mark && (
        <p class="step-mark" role="status">
          <Icon name={mark.state === "done" ? "tick" : "forward"} />
          <span>
            {mark.state === "done"
              ? `Done, ${clock(mark.at)}${mark.value ? `: ${mark.value}` : ""}`
              : mark.reason === "released"
                ? `Released, ${clock(mark.at)}: ${mark.note}`
                : `Passed, ${clock(mark.at)}: ${pack.choices.skip_reasons.find((r) => r.id === mark.reason)?.text ?? mark.reason}`}
          </span>
        </p>
      )}
      {!turns && <Say pack={pack} phrase={now.step.say} state={state} />}
      {blocking !== undefined ? (
        <Notice kind="warn" title="Something before this is still open">
          <p>{blocking.step.text}</p>
          <Button kind="main" wide onClick={() => goCase(state.id, "step", blocking.key)}>
            Go to it
          </Button>
        </Notice>
      ) : (
        <StepBody
          state={state}
          held={held}
          planned={now}
          marked={mark !== undefined}
          onDone={done}
          onNext={on}
          onCannot={() => setSheet("cannot")}
        />
      )}
      {turns && <Say pack={pack} phrase={now.step.say} state={state} />}
      {blocking === undefined && mark === undefined && now.step.screen !== "release" && (
        <div class="halves">
          <Button disabled={saving.value > 0} onClick={() => setSheet("cannot")}>
            Can't
          </Button>
          {!binds(now.step.weight) && next !== null && <Button onClick={on}>Later</Button>}
        </div>
      )}
      {now.step.why !== "" && (
        <Fold word="Why">
          <p>{now.step.why}</p>
          {now.step.source !== "" && <p class="t-small quiet">Source: {now.step.source}</p>}
        </Fold>
      )}
      <div class="step-feet">
        {previous !== null && (
          <Button kind="quiet" icon="back" onClick={() => goCase(state.id, "step", previous.key)}>
            Before this
          </Button>
        )}
        {next !== null && (
          <p class="t-small quiet">
            Next: {next.step.text}
            {roundWords(pack, next) !== round &&
              roundWords(pack, next) !== "" &&
              ` (${roundWords(pack, next)})`}
          </p>
        )}
      </div>
      {jump}
      {sheet === "cannot" && now.step.weight === "stop" && (
        <StopSheet
          state={state}
          pack={pack}
          planned={now}
          onClose={() => setSheet(null)}
          onPassed={() => {
            setSheet(null);
            on();
          }}
        />
      )}
      {sheet === "cannot" && now.step.weight !== "stop" && (
        <CannotSheet
          state={state}
          pack={pack}
          planned={now}
          onClose={() => setSheet(null)}
          onPassed={() => {
            setSheet(null);
            on();
          }}
        />
      )}
    </article>
  );
}

/** The stages in a row, as wide as they have steps; said in words above it. */
function Bar({ stages, here }: { stages: ReturnType<typeof progress>; here: string }) {
  const all = stages.reduce((sum, s) => sum + s.total, 0);
  let x = 0;
  return (
    <svg
      class="stage-bar"
      viewBox="0 0 400 8"
      preserveAspectRatio="none"
      aria-hidden="true"
      focusable="false"
    >
      {stages.map((s) => {
        const from = x;
        const width = (s.total / all) * 400;
        x += width;
        return (
          <g key={s.id} class={s.id === here ? "stage-here" : ""}>
            <rect class="stage-all-of-it" x={from + 1} y="0" width={Math.max(width - 2, 1)} height="8" />
            <rect
              class="stage-passed"
              x={from + 1}
              y="0"
              width={Math.max(width - 2, 1) * (s.passed / s.total)}
              height="8"
            />
          </g>
        );
      })}
    </svg>
  );
}
