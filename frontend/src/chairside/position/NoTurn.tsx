/** A child or an unusual face: nothing is computed, and the screen says why. */
import type { CaseState, Eye } from "../../log";
import type { Optic, Pack } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { openTouch } from "../guide";
import { record, saving } from "../record";
import { noTurnCode } from "./ask";

export function NoTurn({
  state,
  pack,
  eye,
  optic,
  why,
  onSaved,
}: {
  state: CaseState;
  pack: Pack;
  eye: Eye;
  optic: Optic;
  why: string;
  onSaved: (value?: string) => Promise<void>;
}) {
  const answer = async (reached: boolean): Promise<void> => {
    const shared = { eye, optic: optic.id, gaze_deg: [0, 0] as [number, number] };
    const said = await record(
      "pose.advised",
      {
        ...shared,
        reason: noTurnCode(state, eye),
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
    if (said === null) return;
    if (
      !reached &&
      (await record("pose.found", { ...shared, outcome: "not_reached" }, { case: state.id })) === null
    )
      return;
    await onSaved(reached ? "reached by eye" : "not reached");
  };
  return (
    <section class="stack" aria-label="No computed turn">
      <Notice kind="warn" title="No computed turn for this face">
        <p>{why}</p>
        <p>A number here would look sure and be wrong.</p>
      </Notice>
      <ol class="numbered">
        <li>Draw back. Set the distance wider than usual.</li>
        <li>Stand beside the patient and look along the face, not at the screen.</li>
        <li>Turn the nose away from the optic, a little at a time, as far as is comfortable.</li>
        <li>Approach slowly. Stop while there is still a gap that you can see.</li>
      </ol>
      <Button kind="main" big wide disabled={saving.value > 0} onClick={() => answer(true)}>
        Reached by eye
      </Button>
      <Button wide disabled={saving.value > 0} onClick={() => answer(false)}>
        Not reached
      </Button>
      <Button kind="warn" wide onClick={() => openTouch(pack, eye, optic.id)}>
        It touched: log an event
      </Button>
    </section>
  );
}
