/** Frames checked off eye by eye, where no layout in time is for the case. */
import { useState } from "preact/hooks";
import { stepsFor } from "../../pack";
import { Segmented } from "../../ui";
import { FramesPanel } from "../frames/FramesPanel";
import { firstEye, type PanelProps, situationOf } from "../guide";
import { EYE_WORD } from "../words";

export function Checklist({
  state,
  held,
  wanted,
  onSaved,
  onNone,
}: Pick<PanelProps, "state" | "held" | "onNone"> & { wanted?: string[]; onSaved?: PanelProps["onSaved"] }) {
  const [eye, setEye] = useState(firstEye(state));
  const step = stepsFor(held.pack, situationOf(state)).find((p) => p.step.screen === "series");
  // the first eye is done: the other one comes, and only then the step
  const turnTo = eye === firstEye(state) ? (state.eyes.find((one) => one !== eye) ?? null) : null;
  return (
    <div class="stack">
      {state.eyes.length > 1 && (
        <Segmented
          legend="Eye"
          hideLegend
          options={state.eyes.map((id) => ({ id, text: EYE_WORD[id] }))}
          value={eye}
          onPick={setEye}
        />
      )}
      <FramesPanel
        key={eye}
        state={state}
        held={held}
        round={{ eye, optic: state.optic }}
        wanted={wanted ?? step?.step.fields ?? null}
        onNone={onNone && (() => (turnTo === null ? onNone() : setEye(turnTo)))}
        onSaved={async (value) => {
          if (turnTo !== null) setEye(turnTo);
          else await onSaved?.(value);
        }}
      />
    </div>
  );
}
