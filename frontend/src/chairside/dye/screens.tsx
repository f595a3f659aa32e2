/** Screening, dose and injection opened by themselves, from a link: what they settle marks its step too. */
import { stepsFor } from "../../pack";
import type { Dye, Screen as ScreenName } from "../../types.gen";
import { Segmented } from "../../ui";
import { app } from "../app";
import { situationOf } from "../guide";
import { go, goCase } from "../router";
import type { CaseScreenProps } from "../routes";
import { askedAfter, askedDyes, injectionOf } from "../screening/course";
import { ScreeningPanel } from "../screening/ScreeningPanel";
import { goOn, markDone } from "../steps/finish";
import { DosePanel } from "./DosePanel";
import { InjectPanel } from "./InjectPanel";

const ROUND = { eye: null, optic: null };

/** The step of this screen that is still open is done with it. A stop is not: it has its own way. */
async function settle(
  { state, held }: CaseScreenProps,
  screen: ScreenName,
  dye: string,
  value?: string,
): Promise<void> {
  const now = app.log.caseOf(state.id) ?? state;
  const plan = stepsFor(held.pack, situationOf(now));
  const mine = plan.find((p) => p.step.screen === screen && p.step.dye === dye && !now.steps.has(p.key));
  if (mine === undefined) goCase(state.id, "step");
  else if (await markDone(state, mine, value)) goOn(state, held, mine.key);
}

function Asking({ part, title, ...props }: CaseScreenProps & { part: "patient" | "ready"; title: string }) {
  const screen = part === "patient" ? "screening" : "ready";
  return (
    <article class="stack">
      <h1>{title}</h1>
      <ScreeningPanel
        {...props}
        part={part}
        round={ROUND}
        onSaved={(value) => settle(props, screen, "", value)}
      />
    </article>
  );
}

export function ScreeningScreen(props: CaseScreenProps) {
  return <Asking {...props} part="patient" title="Screening" />;
}

export function ReadyScreen(props: CaseScreenProps) {
  return <Asking {...props} part="ready" title="Made sure of, just before" />;
}

/** The dyes that are asked for, in the order in which the pack's steps give them. */
function inOrder({ state, held }: CaseScreenProps): Dye[] {
  const given = held.pack.steps.filter((s) => s.screen === "inject").map((s) => s.dye);
  return [...askedDyes(held.pack, state)].sort((a, b) => given.indexOf(a.id) - given.indexOf(b.id));
}

/** Which dye: the one that the address names, else one that is in and still asked about, else the next one. */
function dyeOf(props: CaseScreenProps): Dye | undefined {
  const { state, tail } = props;
  const dyes = inOrder(props);
  return (
    dyes.find((d) => d.id === tail[0]) ??
    dyes.find((d) => injectionOf(state, d.id) !== null && !askedAfter(state, d.id)) ??
    dyes.find((d) => injectionOf(state, d.id) === null) ??
    dyes[0]
  );
}

function DyePicker({ screen, dye, ...props }: CaseScreenProps & { screen: "dose" | "inject"; dye: Dye }) {
  const dyes = inOrder(props);
  if (dyes.length < 2) return null;
  return (
    <Segmented
      legend="Dye"
      hideLegend
      options={dyes.map((d) => ({ id: d.id, text: d.name }))}
      value={dye.id}
      onPick={(id) => go({ page: "case", id: props.state.id, screen, tail: [id] }, { replace: true })}
    />
  );
}

function NoDye() {
  return <p>No dye is asked for in this case.</p>;
}

export function DoseScreen(props: CaseScreenProps) {
  const dye = dyeOf(props);
  return (
    <article class="stack">
      <h1>Dose</h1>
      {dye ? (
        <>
          <DyePicker {...props} screen="dose" dye={dye} />
          <DosePanel
            key={dye.id}
            {...props}
            round={ROUND}
            dye={dye.id}
            onSaved={(value) => settle(props, "dose", dye.id, value)}
          />
        </>
      ) : (
        <NoDye />
      )}
    </article>
  );
}

export function InjectScreen(props: CaseScreenProps) {
  const dye = dyeOf(props);
  return (
    <article class="stack">
      <h1>Injection</h1>
      {dye ? (
        <>
          <DyePicker {...props} screen="inject" dye={dye} />
          <InjectPanel
            key={dye.id}
            {...props}
            round={ROUND}
            dye={dye.id}
            step={props.held.pack.steps.find((s) => s.screen === "inject" && s.dye === dye.id)?.id ?? null}
            onSaved={(value) => settle(props, "inject", dye.id, value)}
          />
        </>
      ) : (
        <NoDye />
      )}
    </article>
  );
}
