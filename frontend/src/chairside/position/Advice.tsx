/** The computed turn: number, picture, the rest in words, 'what if', and then how it was in truth. */
import { useComputed, useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { type CaseState, cameAfter, type Eye } from "../../log";
import type { FitRequest, FitResult, Optic, Pack } from "../../types.gen";
import { Button, Fold, Notice } from "../../ui";
import { record, saving } from "../record";
import { judge, type Posed, posed } from "./ask";
import { Caution } from "./Caution";
import { Found } from "./Found";
import type { GazeChoice } from "./gazes";
import { HeadPicture } from "./HeadPicture";
import { lastTimeWords } from "./lastTime";
import { Stepper } from "./Stepper";
import { TouchMark } from "./TouchMark";
import {
  chinSentence,
  degrees,
  distanceSentence,
  eyeTurnWords,
  gapWords,
  gazeWords,
  lightWords,
  millimetres,
  placeWords,
  turnDirection,
  turnSentence,
} from "./words";

export interface AdviceProps {
  state: CaseState;
  pack: Pack;
  eye: Eye;
  optic: Optic;
  request: FitRequest;
  gaze: GazeChoice;
  answer: FitResult;
  picker: ComponentChildren;
  onSaved: (value?: string) => Promise<void>;
  /** Where another step asks how it was: called once the turn is accepted, which is then all that is done here. */
  onUsed?: ((value?: string) => Promise<void>) | undefined;
}

export function Advice(props: AdviceProps) {
  const { state, pack, eye, optic, request, gaze, answer, picker, onUsed } = props;
  const advised = posed(pack, optic, answer, gaze.gaze_deg) as Posed;
  const asked = useSignal<FitResult | null>(null);
  const shown = useComputed<FitResult>(() => asked.value ?? answer);
  const pose = useComputed<Posed>(() => posed(pack, optic, shown.value, gaze.gaze_deg) ?? advised);
  const number = useComputed(() => degrees(pose.value.yaw_deg));
  const direction = useComputed(() => turnDirection(eye, pose.value.yaw_deg, asked.value !== null));
  const turnText = useComputed(() => `Turn ${degrees(pose.value.yaw_deg)}`);
  const chinText = useComputed(() => chinSentence(pose.value.pitch_deg));
  const distanceText = useComputed(() => `Distance ${millimetres(pose.value.working_distance_mm)}`);
  const gapText = useComputed(() => gapWords(pose.value.clearance_mm));
  const nearText = useComputed(() => placeWords(pose.value.nearest, pack.choices.nearest).toLowerCase());
  const fieldText = useComputed(() => `${Math.floor(pose.value.field_deg)}°`);
  const inHead = useComputed(() => eyeTurnWords(pose.value.eye_in_head_deg));
  const isAsked = useComputed(() => asked.value !== null);
  const trouble = useComputed(() => asked.value?.reason?.sentence ?? "");
  const troubled = useComputed(() => trouble.value !== "");
  const turnClass = useComputed(() => `turn${isAsked.value ? " turn-asked" : ""}`);
  const farText = useComputed(() =>
    distanceSentence(pose.value.working_distance_mm, optic.working_distance_mm),
  );
  const lightText = useComputed(() => {
    const { outside_light_cm: offset_cm, outside_light_refused: refused } = shown.value;
    return offset_cm === null ? (refused?.sentence ?? "") : lightWords(offset_cm, pack.limits.target_cm);
  });
  const word = useComputed(() => shown.value.words);

  const askFor = (change: Partial<{ yaw_deg: number; pitch_deg: number; distance_mm: number }>): void => {
    const { yaw_deg, pitch_deg, working_distance_mm: distance_mm } = pose.value;
    const at = { yaw_deg, pitch_deg, distance_mm, ...change };
    asked.value = judge(pack, request, at);
  };
  const step = (value: number, by: number): number => Math.round((value + by) / Math.abs(by)) * Math.abs(by);

  const open = openAdvice(state, eye, optic.id, gaze.gaze_deg);
  const last = lastTimeWords(state, eye, optic.id);
  const light = state.fixation[eye]?.body.method;
  return (
    <section class="stack" aria-label="The computed turn">
      <div class={turnClass}>
        <p class="only-heard">{turnSentence(eye, advised.yaw_deg)}</p>
        <p class="t-guide" aria-hidden="true">
          {number}
        </p>
        <p class="turn-words t-do" aria-hidden="true">
          {direction}
        </p>
      </div>
      {last !== null && <p class="warning-line">{last}</p>}
      <Caution />
      <HeadPicture
        eye={eye}
        optic={optic}
        pd_mm={request.measures.pd_mm}
        margin_mm={answer.margin_mm}
        capsules={answer.capsules}
        pose={pose}
        places={pack.choices.nearest}
        onYaw={(yaw_deg) => askFor({ yaw_deg })}
      />
      {isAsked.value && (
        <div class="stack-tight" role="status">
          {troubled.value && (
            <Notice kind="warn" title="Not like this">
              <p>{trouble.value}</p>
            </Notice>
          )}
          <Button
            wide
            icon="back"
            onClick={() => {
              asked.value = null;
            }}
          >
            Back to the advised {degrees(advised.yaw_deg)}
          </Button>
        </div>
      )}
      {word.value && <TouchMark word={word.value} long />}
      <dl class="facts">
        <dt>Chin</dt>
        <dd>{chinText}</dd>
        <dt>Distance</dt>
        <dd>{farText}</dd>
        <dt>Eye looks</dt>
        <dd>{gazeWords(eye, gaze.gaze_deg)}</dd>
        {light === "outside" && (
          <>
            <dt>Light</dt>
            <dd>{lightText}</dd>
          </>
        )}
        <dt>Nearest</dt>
        <dd>
          <span class="number">{gapText}</span>, {nearText}
        </dd>
        <dt>Eye turn</dt>
        <dd>{inHead}</dd>
        <dt>Field</dt>
        <dd>at most {fieldText}</dd>
      </dl>
      {answer.warnings.length > 0 && (
        <ul class="stack-tight" aria-label="To know beside it">
          {answer.warnings.map((w) => (
            <li key={w.code} class="warning-line">
              {w.sentence}
            </li>
          ))}
        </ul>
      )}
      {open === null ? (
        <Button
          kind="main"
          big
          wide
          disabled={saving.value > 0 || isAsked.value}
          onClick={async () => {
            const saved = await record(
              "pose.advised",
              {
                eye,
                optic: optic.id,
                gaze_deg: gaze.gaze_deg,
                reason: null,
                yaw_deg: advised.yaw_deg,
                pitch_deg: advised.pitch_deg,
                working_distance_mm: advised.working_distance_mm,
                clearance_mm: advised.clearance_mm,
                nearest: advised.nearest,
                field_deg: advised.field_deg,
                words: answer.words,
              },
              { case: state.id },
            );
            if (saved !== null) await onUsed?.(`turn ${degrees(advised.yaw_deg)}`);
          }}
        >
          Use this turn
        </Button>
      ) : onUsed ? (
        <div class="stack-tight">
          <p role="status">This turn is in use. Approach with it; how it was is asked after that.</p>
          <Button kind="main" big wide onClick={() => void onUsed(`turn ${degrees(open.body.yaw_deg ?? 0)}`)}>
            Go on
          </Button>
        </div>
      ) : (
        <Found {...props} advised={advised} />
      )}
      <Fold word="What if I only turn …">
        <div class="stack-tight">
          <p class="quiet">Drag the head in the picture, or step. Nothing is logged.</p>
          <Stepper
            label="Turn"
            text={turnText}
            less={`1° less toward the patient's ${eye === "right" ? "left" : "right"}`}
            more={`1° more toward the patient's ${eye === "right" ? "left" : "right"}`}
            onLess={() => askFor({ yaw_deg: step(pose.value.yaw_deg, -1) })}
            onMore={() => askFor({ yaw_deg: step(pose.value.yaw_deg, 1) })}
          />
          <Stepper
            label="Chin"
            text={chinText}
            less="Chin 1° lower"
            more="Chin 1° higher"
            onLess={() => askFor({ pitch_deg: step(pose.value.pitch_deg, -1) })}
            onMore={() => askFor({ pitch_deg: step(pose.value.pitch_deg, 1) })}
          />
          <Stepper
            label="Distance"
            text={distanceText}
            less="Half a millimetre closer"
            more="Half a millimetre further back"
            onLess={() => askFor({ distance_mm: step(pose.value.working_distance_mm, -0.5) })}
            onMore={() => askFor({ distance_mm: step(pose.value.working_distance_mm, 0.5) })}
          />
        </div>
      </Fold>
      {picker}
      <Fold word="Where these figures come from">
        <p class="t-small">
          Computed on this phone from the tables of other faces and the measures of this one, the optic's
          figures and the clinic's margin of {millimetres(answer.margin_mm)}, by guidance pack {pack.version}.
          The picture is to scale: the solid part of the optic is what stands level with the nearest gap, the
          faint band is the margin. The outline of the skull is a mean adult head and only helps the eye. How
          near, in words: {pack.touch.how}
        </p>
      </Fold>
    </section>
  );
}

/** The advice that was accepted for this eye, optic and gaze and not yet answered; it survives a reload. */
export function openAdvice(
  state: CaseState,
  eye: Eye,
  optic: string,
  gaze_deg: readonly [number, number],
): CaseState["advised"][number] | null {
  const same = (n: CaseState["advised"][number] | CaseState["found"][number]): boolean =>
    n.body.eye === eye &&
    n.body.optic === optic &&
    n.body.gaze_deg[0] === gaze_deg[0] &&
    n.body.gaze_deg[1] === gaze_deg[1];
  const last = state.advised.filter(same).at(-1);
  if (last === undefined) return null;
  const answered = state.found.filter(same).at(-1);
  return answered !== undefined && cameAfter(state, answered, last) ? null : last;
}
