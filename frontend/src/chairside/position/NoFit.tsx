/** No pose clears this face with this optic: why, and which of the clinic's optics would. */
import { Button, LinkButton, Notice } from "../../ui";
import { record, saving } from "../record";
import { hrefOf } from "../router";
import type { AdviceProps } from "./Advice";
import { gazeId } from "./gazes";

export function NoFit({ state, eye, optic, gaze, answer, picker }: AdviceProps) {
  const logged = state.advised.some(
    ({ body }) =>
      body.eye === eye &&
      body.optic === optic.id &&
      body.reason !== null &&
      gazeId(body.gaze_deg) === gaze.id,
  );
  const log = () =>
    record(
      "pose.advised",
      {
        eye,
        optic: optic.id,
        gaze_deg: gaze.gaze_deg,
        reason: answer.reason?.code ?? "no_pose_clears_face",
        yaw_deg: null,
        pitch_deg: null,
        working_distance_mm: null,
        clearance_mm: null,
        nearest: null,
        field_deg: null,
        words: null,
      },
      { case: state.id },
    );
  return (
    <section class="stack" aria-label="No fit">
      <Notice kind="danger" title={`${optic.name} does not fit here`}>
        <p>{answer.reason?.sentence}</p>
      </Notice>
      {answer.other_optics.length === 0 && <p>Ask the clinician in charge what is needed most.</p>}
      <LinkButton kind="main" wide big href={hrefOf(state.id, "optic")}>
        Choose another optic
      </LinkButton>
      {picker}
      {logged ? (
        <p role="status">
          Logged. Take another optic or another gaze, or pass this step by "Can't" and its reason.
        </p>
      ) : (
        <Button wide disabled={saving.value > 0} onClick={log}>
          Log that it does not fit
        </Button>
      )}
    </section>
  );
}
