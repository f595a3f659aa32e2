/** The clinic's optics, one row each: what it can do for this request and face, and what stands against it. */
import { useEffect, useState } from "preact/hooks";
import type { CaseState, Eye } from "../../log";
import type { ChoiceRow, FitResult, Optic, Pack } from "../../types.gen";
import { Button, Fold, Icon, Notice, Sheet, Tag, TextArea } from "../../ui";
import { type AskedFor, Asking, firstAsked, numberOf } from "../choice/Asking";
import { Dominated, Figures } from "../choice/Figures";
import { type Suggestion, suggest } from "../choice/suggest";
import { useDraft } from "../drafts";
import type { PanelProps } from "../guide";
import { choiceFor, reachClassOf, withNames } from "../map/ways";
import { looksLikePerson, NO_NAMES } from "../names";
import { advise, noTurnBecause, requestFor } from "../position/ask";
import { TouchMark } from "../position/TouchMark";
import { turnSentence } from "../position/words";
import { record, saving } from "../record";
import { EYE_WORD } from "../words";
import { against, canDo, headline } from "./verdict";

type Answers = Map<string, FitResult | null>;
const keyOf = (optic: string, eye: Eye): string => `${optic} ${eye}`;

/** Asked one optic at a time between frames, so that the rows stand at once and fill in. */
function useAnswers(pack: Pack, state: CaseState): Answers {
  const [answers, setAnswers] = useState<Answers>(new Map());
  const measured = state.eyes.map((eye) => state.face[eye]?.line ?? "").join(" ");
  useEffect(() => {
    const questions = pack.optics.flatMap((o) => state.eyes.map((eye) => ({ o, eye })));
    let timer = 0;
    const next = (i: number): void => {
      const q = questions[i];
      if (q === undefined) return;
      const request = requestFor(pack, state, q.eye, q.o.id, [0, 0]);
      const answer = request === null ? null : advise(pack, request);
      setAnswers((held) => new Map(held).set(keyOf(q.o.id, q.eye), answer));
      timer = window.setTimeout(() => next(i + 1), 0);
    };
    timer = window.setTimeout(() => next(0), 0);
    return () => clearTimeout(timer);
  }, [pack, measured]);
  return answers;
}

export function OpticPanel({ state, held, onSaved }: PanelProps) {
  const { pack } = held;
  const answers = useAnswers(pack, state);
  const [picked, setPicked] = useState<{ optic: Optic; why: string[] } | null>(null);
  const [asked, ask] = useDraft<AskedFor>(`${state.id}:asked`, firstAsked(pack));
  const eye = state.eyes.find((e) => reachClassOf(pack, state.face[e]?.body) !== null);
  const choiceOf = (one: Eye | undefined): Suggestion | null => {
    const reach = one === undefined ? null : reachClassOf(pack, state.face[one]?.body);
    if (one === undefined || reach === null || noTurnBecause(pack, state, one) !== null) return null;
    const table = choiceFor(pack, reach, asked.region);
    const { modalities, crossSections } = state;
    const [detail_px_per_deg, minutes] = [numberOf(asked.detail), numberOf(asked.minutes)];
    return table && suggest(table, { modalities, crossSections, detail_px_per_deg, minutes });
  };
  const choice = choiceOf(eye);
  // two eyes of one face may lie at different depths, and then ask for different optics
  const otherEye =
    state.eyes
      .filter((e) => e !== eye)
      .map((e) => ({ e, found: choiceOf(e) }))
      .filter(({ found }) => found !== null && found.suggested?.optic !== choice?.suggested?.optic)
      .map(({ e, found }) => `${EYE_WORD[e]}: ${found?.suggested?.name ?? "none"} would be suggested.`)[0] ??
    null;
  const unmeasured = state.eyes.filter(
    (eye) => state.face[eye] === undefined && noTurnBecause(pack, state, eye) === null,
  );
  return (
    <div class="stack">
      {unmeasured.length > 0 && (
        <Notice kind="info">
          <p>Turn and closeness follow when the face is measured ({unmeasured.join(" and ")} eye).</p>
        </Notice>
      )}
      {choice !== null && eye !== undefined && (
        <>
          <section class="card card-now" aria-label="Suggested">
            <h2 class="t-do">
              {choice.suggested === null ? "None is suggested" : `Suggested: ${choice.suggested.name}`}
            </h2>
            <p>{choice.why}</p>
            {choice.trades.length > 0 && (
              <ul class="reasons">
                {choice.trades.map((words) => (
                  <li key={words}>{words}</li>
                ))}
              </ul>
            )}
            {otherEye !== null && <p class="warning-line">{otherEye}</p>}
            <p class="t-small quiet">
              For {regionName(pack, asked.region)} and a face like this
              {state.eyes.length > 1 ? ` (${EYE_WORD[eye].toLowerCase()})` : ""}. The choice is yours.
            </p>
          </section>
          <Fold word="What is asked for">
            <Asking pack={pack} asked={asked} onChange={ask} />
          </Fold>
        </>
      )}
      <ul class="stack" aria-label="Optics">
        {pack.optics.map((optic) => {
          const fits = state.eyes.map((eye) => ({ eye, answer: answers.get(keyOf(optic.id, eye)) ?? null }));
          const verdict = against(optic, state, fits);
          const judged = choice?.rows.find((j) => j.row.optic === optic.id) ?? null;
          // what the verdict says already is not said twice
          const lacks = (judged?.whyNot ?? [])
            .filter((s) => !s.startsWith("It does not take") && !s.startsWith("It takes no"))
            .map((s) => withNames(pack.optics, s));
          const why = [...verdict.request, ...verdict.patient, ...lacks];
          return (
            <li key={optic.id} class={`card optic ${state.optic === optic.id ? "card-now" : ""}`}>
              <div class="row-ends">
                <h2 class="t-do">{optic.name}</h2>
                {state.optic === optic.id ? (
                  <Tag icon="tick">On the instrument</Tag>
                ) : state.optics.includes(optic.id) ? (
                  <Tag>Used before</Tag>
                ) : null}
              </div>
              <p class="quiet">{optic.summary}</p>
              {choice?.suggested?.optic === optic.id && (
                <p class="row">
                  <Tag icon="forward">Suggested</Tag>
                </p>
              )}
              <p class={why.length === 0 ? "optic-yes" : "optic-no"}>
                <Icon name={why.length === 0 ? "tick" : "warn"} />
                <span class="strong">{headline(verdict, canDo(optic, state), lacks.length > 0)}</span>
              </p>
              {why.length > 0 && (
                <ul class="reasons">
                  {why.map((sentence) => (
                    <li key={sentence}>{sentence}</li>
                  ))}
                </ul>
              )}
              {judged !== null && <Dominated pack={pack} judged={judged} />}
              <dl class="facts">
                <dt>Field</dt>
                <dd>{optic.field_deg}°</dd>
                <dt>Distance</dt>
                <dd>
                  {optic.working_distance_mm} mm
                  {optic.working_distance_mm <= pack.thresholds.close_optic_mm && ", close: warn the patient"}
                </dd>
                <dt>Pupil</dt>
                <dd>at least {optic.least_pupil_mm} mm</dd>
                {fits.map(({ eye, answer }) =>
                  answer?.feasible ? (
                    <FitRow key={eye} eye={eye} several={state.eyes.length > 1} answer={answer} />
                  ) : null,
                )}
                {judged !== null && <Figures judged={judged} />}
              </dl>
              <Button
                kind={why.length === 0 && state.optic !== optic.id ? "main" : "plain"}
                wide
                disabled={saving.value > 0}
                onClick={() =>
                  state.optic === optic.id ? void onSaved(optic.id) : setPicked({ optic, why })
                }
              >
                {state.optic === optic.id ? `Go on with ${optic.name}` : `Choose ${optic.name}`}
              </Button>
            </li>
          );
        })}
      </ul>
      {picked && (
        <ChooseSheet
          state={state}
          optic={picked.optic}
          why={picked.why}
          before={pack.optics.find((o) => o.id === state.optic) ?? null}
          suggested={choice?.suggested ?? null}
          onClose={() => setPicked(null)}
          onSaved={(id) => {
            setPicked(null);
            void onSaved(id);
          }}
        />
      )}
    </div>
  );
}

function regionName(pack: Pack, id: string): string {
  return (pack.regions.find((r) => r.id === id)?.name ?? id).toLowerCase();
}

function FitRow({ eye, several, answer }: { eye: Eye; several: boolean; answer: FitResult }) {
  return (
    <>
      <dt>{several ? EYE_WORD[eye] : "Turn"}</dt>
      <dd>
        {turnSentence(eye, answer.yaw_deg ?? 0)}
        {answer.words && (
          <>
            <br />
            <TouchMark word={answer.words} />
          </>
        )}
      </dd>
    </>
  );
}

/** Says what follows, and asks for a reason where something stands against it. */
function ChooseSheet({
  state,
  optic,
  why,
  before,
  suggested,
  onClose,
  onSaved,
}: {
  state: CaseState;
  optic: Optic;
  why: string[];
  before: Optic | null;
  suggested: ChoiceRow | null;
  onClose: () => void;
  onSaved: (id: string) => void;
}) {
  const [reason, setReason] = useState("");
  const must = why.length > 0;
  const choose = async (): Promise<void> => {
    const saved = await record(
      "optic.chosen",
      { optic: optic.id, reason: reason.trim(), suggested: suggested?.optic ?? null },
      { case: state.id },
    );
    if (saved !== null) onSaved(optic.id);
  };
  return (
    <Sheet
      small
      title={before === null ? `Choose ${optic.name}` : `Change from ${before.name} to ${optic.name}`}
      onClose={onClose}
      foot={
        <Button
          kind="main"
          big
          wide
          disabled={saving.value > 0 || (must && reason.trim().length < 3)}
          onClick={choose}
        >
          {before === null ? `Use ${optic.name}` : `Change to ${optic.name}`}
        </Button>
      }
    >
      <div class="stack">
        {before !== null && (
          <Notice kind="warn" title="The steps of the change come next">
            <p>Save the images first. Nobody is in the rest while an optic is handled.</p>
          </Notice>
        )}
        {must && (
          <ul class="reasons">
            {why.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
        )}
        <TextArea
          label={
            must
              ? "Why this optic all the same?"
              : suggested !== null && suggested.optic !== optic.id
                ? `Why rather than ${suggested.name}? (if you want to keep it)`
                : "Reason (if you want to keep one)"
          }
          hint={NO_NAMES}
          value={reason}
          onText={setReason}
          maxLength={300}
          warning={looksLikePerson(reason) ?? undefined}
        />
      </div>
    </Sheet>
  );
}
