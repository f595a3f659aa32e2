/** After the approach: how the accepted turn was in truth, for this eye and optic. */
import { cameAfter } from "../../log";
import { Button } from "../../ui";
import { firstEye, type PanelProps } from "../guide";
import { POSE_WORD } from "../tell/types";
import { Found } from "./Found";
import { gazeId } from "./gazes";

export function FoundPanel({ state, held, round, onSaved }: PanelProps) {
  const { pack } = held;
  const eye = round.eye ?? firstEye(state);
  const optic = pack.optics.find((o) => o.id === (round.optic ?? state.optic));
  const mine = <T extends { eye: string; optic: string }>(noted: { body: T }): boolean =>
    noted.body.eye === eye && noted.body.optic === optic?.id;
  const advised = state.advised.filter(mine).at(-1);
  const found = state.found.filter(mine).at(-1);
  const answered = found !== undefined && cameAfter(state, found, advised);
  const { yaw_deg = null, pitch_deg = null } = advised?.body ?? {};
  if (optic !== undefined && advised !== undefined && !answered && yaw_deg !== null) {
    const { gaze_deg } = advised.body;
    return (
      <Found
        {...{ state, pack, eye, optic, onSaved }}
        gaze={{ id: gazeId(gaze_deg), gaze_deg }}
        advised={{ yaw_deg, pitch_deg: pitch_deg ?? 0 }}
      />
    );
  }
  return (
    <div class="stack">
      <p>
        {answered && found !== undefined
          ? `Already said: ${POSE_WORD[found.body.outcome].toLowerCase()}.`
          : "No turn was accepted for this eye and optic, so there is nothing to compare with."}
      </p>
      <Button
        kind="main"
        big
        wide
        onClick={() =>
          void onSaved(answered && found !== undefined ? found.body.outcome : "no turn accepted")
        }
      >
        Go on
      </Button>
    </div>
  );
}
