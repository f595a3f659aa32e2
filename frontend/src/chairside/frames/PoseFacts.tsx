/** For one frame: the turn, the chin, the light and how near it comes, by this face; or why none is computed. */
import { InputError } from "../../kernel";
import type { CaseState } from "../../log";
import type { EyeSide, FitResult, Pack } from "../../types.gen";
import { advise, noTurnBecause, requestFor } from "../position/ask";
import { lastTimeWords } from "../position/lastTime";
import { TouchMark } from "../position/TouchMark";
import { chinSentence, gapWords, lightSentence, placeWords, turnSentence } from "../position/words";

export interface FramePose {
  answer: FitResult | null;
  /** Why there is no answer, in words. */
  why: string | null;
}

/** The kernel's answer for a frame; null with the reason where nothing can be computed. */
export function framePose(
  pack: Pack,
  state: CaseState,
  eye: EyeSide,
  optic: string,
  gaze_deg: readonly [number, number],
): FramePose {
  const request = requestFor(pack, state, eye, optic, gaze_deg);
  if (request === null) {
    const said = noTurnBecause(pack, state, eye) ?? "This face is not measured.";
    return { answer: null, why: `${said} No computed turn: watch from the side.` };
  }
  try {
    const answer = advise(pack, request);
    return answer.feasible ? { answer, why: null } : { answer: null, why: answer.reason?.sentence ?? null };
  } catch (error) {
    if (error instanceof InputError) return { answer: null, why: error.message };
    throw error;
  }
}

/** The outside light for the frame in one sentence; empty where the eye is guided otherwise. */
export function lightFor(pack: Pack, state: CaseState, eye: EyeSide, answer: FitResult): string {
  const method = state.fixation[eye]?.body.method;
  if (method === "outside") {
    return answer.outside_light_cm !== null
      ? lightSentence(answer.outside_light_cm, pack.limits.target_cm)
      : (answer.outside_light_refused?.sentence ?? "");
  }
  if (method === "inside" && !answer.inside_light) return "Beyond the inside light: guide by another way";
  return "";
}

export function PoseFacts({
  pack,
  state,
  eye,
  optic,
  gaze_deg,
}: {
  pack: Pack;
  state: CaseState;
  eye: EyeSide;
  optic: string;
  gaze_deg: readonly [number, number];
}) {
  const { answer, why } = framePose(pack, state, eye, optic, gaze_deg);
  if (answer === null) return why === null ? null : <p class="warning-line">{why}</p>;
  const light = lightFor(pack, state, eye, answer);
  const last = lastTimeWords(state, eye, optic);
  const near = answer.nearest === null ? "" : placeWords(answer.nearest, pack.choices.nearest).toLowerCase();
  return (
    <div class="stack-tight">
      <p class="frame-gap">
        {answer.words !== null && <TouchMark word={answer.words} />}
        <span>
          gap <span class="number strong">{gapWords(answer.clearance_mm ?? 0)}</span>
          {near !== "" && `, ${near}`}
        </span>
      </p>
      <dl class="facts">
        <dt>Face</dt>
        <dd>
          {turnSentence(eye, answer.yaw_deg ?? 0)}. {chinSentence(answer.pitch_deg ?? 0)}.
        </dd>
        {light !== "" && (
          <>
            <dt>Light</dt>
            <dd>{light.replace(/^Light /, "")}</dd>
          </>
        )}
      </dl>
      {last !== null && <p class="warning-line">{last}</p>}
    </div>
  );
}
