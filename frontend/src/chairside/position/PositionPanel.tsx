/** How far to turn the head, seen before everything else; and why not, where nothing is computed. */
import { useState } from "preact/hooks";
import { InputError } from "../../kernel";
import type { FitResult } from "../../types.gen";
import { LinkButton, Notice, PickOne } from "../../ui";
import { allFields, firstEye, type PanelProps } from "../guide";
import { hrefOf } from "../router";
import { Advice, type AdviceProps } from "./Advice";
import { advise, noTurnBecause, requestFor } from "./ask";
import { Caution } from "./Caution";
import { gazeChoices, gazeId } from "./gazes";
import { NoFit } from "./NoFit";
import { NoTurn } from "./NoTurn";

export function PositionPanel({
  state,
  held,
  round,
  onSaved,
  onUsed,
}: PanelProps & Pick<AdviceProps, "onUsed">) {
  const { pack } = held;
  const eye = round.eye ?? firstEye(state);
  const optic = pack.optics.find((o) => o.id === (round.optic ?? state.optic));
  const [asked, setAsked] = useState<string>(gazeId([0, 0]));
  if (optic === undefined) {
    return (
      <Notice kind="info" title="Choose the optic first">
        <p>The turn depends on the optic: how close it comes, and how wide it is.</p>
        <LinkButton kind="main" href={hrefOf(state.id, "optic")}>
          Choose the optic
        </LinkButton>
      </Notice>
    );
  }
  const why = noTurnBecause(pack, state, eye);
  if (why !== null) {
    return (
      <div class="stack">
        <Caution text="Watch from the side, all the way in." />
        <NoTurn state={state} pack={pack} eye={eye} optic={optic} why={why} onSaved={onSaved} />
      </div>
    );
  }
  const gazes = gazeChoices(allFields(pack, state, eye, optic.id), eye);
  const gaze = gazes.find((g) => g.id === asked) ?? gazes[0];
  if (gaze === undefined) return null;
  const request = requestFor(pack, state, eye, optic.id, gaze.gaze_deg);
  if (request === null) {
    return (
      <Notice kind="info" title="Measure the face first">
        <p>The turn is computed from five measures of the face. They take half a minute.</p>
        <LinkButton kind="main" href={hrefOf(state.id, "face", eye)}>
          Measure the face
        </LinkButton>
      </Notice>
    );
  }
  const answer = asking(() => advise(pack, request));
  const picker = gazes.length > 1 && (
    <PickOne
      legend="Where the eye looks, from the optic"
      options={gazes}
      value={gaze.id}
      onPick={(id) => setAsked(id ?? gaze.id)}
      across
    />
  );
  const shared = { state, pack, eye, optic, request, gaze, picker, onSaved, onUsed };
  return (
    <div class="stack">
      {"refused" in answer ? (
        <Notice kind="danger" title="This cannot be computed" loud>
          <p>{answer.refused}</p>
          <LinkButton href={hrefOf(state.id, "face", eye)}>Correct the measures</LinkButton>
        </Notice>
      ) : answer.feasible ? (
        <Advice key={`${eye} ${optic.id} ${gaze.id}`} {...shared} answer={answer} />
      ) : (
        <NoFit {...shared} answer={answer} />
      )}
    </div>
  );
}

function asking(ask: () => FitResult): FitResult | { refused: string } {
  try {
    return ask();
  } catch (error) {
    if (error instanceof InputError) return { refused: error.message };
    throw error;
  }
}
