/** A burst, looked through while the patient is still here: every frame is good until it is tapped as bad. */
import { useState } from "preact/hooks";
import { Button, Sheet } from "../../ui";
import { useDraft } from "../drafts";
import { Stepper } from "../position/Stepper";
import { saving } from "../record";
import { EYE_WORD, MODALITY_WORD } from "../words";
import { type Answering, looked } from "./answer";
import type { SeriesFrame } from "./course";

const MOST_SHOTS = 120;

export function LookThrough({
  by,
  frame,
  onClose,
}: {
  by: Answering;
  frame: SeriesFrame;
  onClose: () => void;
}) {
  const [draft, change, drop] = useDraft(`${by.state.id}:burst:${frame.id}`, {
    shots: frame.shots,
    bad: [] as number[],
  });
  const [saved, setSaved] = useState(false);
  const { shots } = draft;
  const bad = draft.bad.filter((n) => n <= shots);
  const numbers = Array.from({ length: shots }, (_, i) => i + 1);
  const toggle = (n: number): void =>
    change({ bad: bad.includes(n) ? bad.filter((other) => other !== n) : [...bad, n].sort((a, b) => a - b) });
  const set = (n: number): void => change({ shots: Math.min(Math.max(n, 1), MOST_SHOTS) });
  return (
    <Sheet
      title="Look through the burst"
      onClose={onClose}
      foot={
        <Button
          kind="main"
          big
          wide
          disabled={saving.value > 0 || saved}
          onClick={async () => {
            if (!(await looked(by, frame, shots, bad))) return;
            setSaved(true);
            drop();
            onClose();
          }}
        >
          {bad.length === 0 ? `All ${shots} are good` : `${shots - bad.length} good, ${bad.length} bad`}
        </Button>
      }
    >
      <div class="stack">
        <p>
          {EYE_WORD[frame.eye]}, {MODALITY_WORD[frame.dye].toLowerCase()}. Tap the frames that are of no use:
          blink, off centre, dark, blurred, lashes, moved.
        </p>
        <Stepper
          label="Frames shot"
          text={`${shots} frames shot`}
          less="One frame fewer"
          more="One frame more"
          onLess={() => set(shots - 1)}
          onMore={() => set(shots + 1)}
        />
        <ol class="shots" aria-label="Frames of the burst">
          {numbers.map((n) => (
            <li key={n}>
              <Button
                pressed={bad.includes(n)}
                icon={bad.includes(n) ? "cross" : "tick"}
                over
                aria-label={`Frame ${n}: ${bad.includes(n) ? "bad" : "good"}`}
                onClick={() => toggle(n)}
              >
                {n}
              </Button>
            </li>
          ))}
        </ol>
      </div>
    </Sheet>
  );
}
