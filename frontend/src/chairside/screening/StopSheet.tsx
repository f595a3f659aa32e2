/** A stop that cannot be done as it stands: released by a licensed person, or the visit goes on without dye, or ends. */
import "../dye/dye.css";
import type { CaseState } from "../../log";
import type { PlannedStep } from "../../pack";
import type { Pack } from "../../types.gen";
import { Fold, Notice, Sheet } from "../../ui";
import { LeaveOut } from "./LeaveOut";
import { ReleaseForm } from "./ReleaseForm";

interface Props {
  state: CaseState;
  pack: Pack;
  planned: PlannedStep;
  onPassed: () => void;
}

export function StopSheet({ onClose, ...rest }: Props & { onClose: () => void }) {
  return (
    <Sheet title="This is a stop" onClose={onClose}>
      <div class="stack">
        <Notice kind="danger">
          <p>
            No reason passes it. What can be done: put it right, leave the dye out, end here, or a release.
          </p>
        </Notice>
        <LeaveOut
          state={rest.state}
          question={null}
          step={rest.planned.step.id}
          why={`stop: ${rest.planned.step.text}`}
          onLeft={rest.onPassed}
        />
        <Fold word="A licensed person releases it">
          <Release {...rest} />
        </Fold>
      </div>
    </Sheet>
  );
}

function Release({ state, pack, planned, onPassed }: Props) {
  const { step, eye, optic } = planned;
  return (
    <ReleaseForm
      state={state}
      pack={pack}
      what={{ question: null, answer: null, step: step.id, eye, optic }}
      text={step.text}
      onReleased={onPassed}
    />
  );
}

/** A step that is there only to be released: nothing to tick. */
export function ReleasePanel(props: Props) {
  return (
    <div class="stack">
      <Release {...props} />
      <LeaveOut
        state={props.state}
        question={null}
        step={props.planned.step.id}
        why={`stop: ${props.planned.step.text}`}
        onLeft={props.onPassed}
      />
    </div>
  );
}
