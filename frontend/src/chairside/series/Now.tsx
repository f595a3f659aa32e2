/** The frame that comes or waits: the largest thing on the screen, with what to set and how to answer it. */
import { useState } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Pack } from "../../types.gen";
import { Button, Icon } from "../../ui";
import { PoseFacts } from "../frames/PoseFacts";
import { saving } from "../record";
import { EYE_WORD, MODALITY_WORD } from "../words";
import { type Answering, answer, burst } from "./answer";
import type { SeriesFrame } from "./course";
import { asksToDrawBack, type Placed } from "./moves";
import { isLate } from "./timing";
import { gazeTitle, whenWords, windowName, windowWords } from "./words";

export interface NowProps extends Answering {
  pack: Pack;
  state: CaseState;
  frame: SeriesFrame;
  protocol: string;
  /** Seconds until it should begin; null where its clock is uncertain. */
  in_s: number | null;
  /** Where eye, gaze and head were for the frame before. */
  from: Placed | null;
  onAgain: (frame: SeriesFrame) => void;
}

export function Now(props: NowProps) {
  const { pack, state, frame, in_s, from, protocol } = props;
  const [movedFor, setMovedFor] = useState<string | null>(null);
  const move = asksToDrawBack(from, frame, pack);
  const late = in_s !== null && isLate(in_s);
  return (
    <section class={`card card-now stack series-now ${late ? "series-late" : ""}`} aria-label="This frame">
      <div class="stack-tight">
        <p class="series-when t-do">
          <Icon name={late ? "warn" : "forward"} />
          <span>{in_s === null ? "When the team has the time" : whenWords(in_s)}</span>
        </p>
        <p class="t-do series-eye">
          {EYE_WORD[frame.eye]}
          {frame.burst ? ", one burst" : ""}
        </p>
        <h1 class="series-title">{gazeTitle(frame)}</h1>
        <p class="quiet">
          {MODALITY_WORD[frame.dye]}, {windowName(pack, protocol, frame.window).toLowerCase()}. Window{" "}
          <span class="number">{windowWords(frame)}</span>.
        </p>
      </div>
      {move !== null && movedFor !== frame.id ? (
        <>
          <DrawBack frame={frame} eyeChanges={move === "eye"} />
          <PoseFacts {...{ pack, state, eye: frame.eye, optic: props.optic, gaze_deg: frame.gaze_deg }} />
          <Button kind="main" big wide onClick={() => setMovedFor(frame.id)}>
            Moved, and back in place
          </Button>
          <Button
            wide
            icon="cross"
            disabled={saving.value > 0}
            onClick={() => void answer(props, frame, "missed")}
          >
            Missed
          </Button>
        </>
      ) : (
        <>
          <PoseFacts {...{ pack, state, eye: frame.eye, optic: props.optic, gaze_deg: frame.gaze_deg }} />
          {frame.burst ? (
            <Button
              kind="main"
              big
              wide
              disabled={saving.value > 0}
              onClick={() => void burst(props, frame, "started")}
            >
              Start the burst
            </Button>
          ) : (
            <Button
              kind="main"
              big
              wide
              icon="tick"
              disabled={saving.value > 0}
              onClick={() => void answer(props, frame, "taken")}
            >
              Taken
            </Button>
          )}
          <div class="halves">
            {!frame.burst && (
              <Button icon="warn" disabled={saving.value > 0} onClick={() => props.onAgain(frame)}>
                Again
              </Button>
            )}
            <Button
              icon="cross"
              disabled={saving.value > 0}
              onClick={() => void answer(props, frame, "missed")}
            >
              Missed
            </Button>
          </div>
        </>
      )}
    </section>
  );
}

function DrawBack({ frame, eyeChanges }: { frame: SeriesFrame; eyeChanges: boolean }) {
  return (
    <div class="stack-tight">
      <h2 class="t-do">Draw back first</h2>
      <ol class="numbered">
        <li>Draw back.</li>
        {eyeChanges && <li>Over to the {frame.eye} eye.</li>}
        <li>Set face and light as below.</li>
        <li>Centre on the pupil, forehead on the rest.</li>
        <li>Approach slowly, watching from the side.</li>
      </ol>
    </div>
  );
}

/** A burst runs: nothing is asked but when it ends. */
export function BurstRuns(
  props: Answering & { frame: SeriesFrame; since_s: number | null; until_s: number | null },
) {
  const { frame, since_s, until_s } = props;
  return (
    <section class="card card-now stack series-now" aria-label="The burst runs">
      <p class="t-do series-eye">{EYE_WORD[frame.eye]}, burst</p>
      <h1 class="series-title">Shoot on</h1>
      <p class="t-do">
        {since_s === null ? "Runs" : <span class="number">{Math.max(0, Math.floor(since_s))} s</span>}
        {until_s !== null && until_s > 0 && (
          <span class="quiet">
            {" "}
            , <span class="number">{Math.ceil(until_s)} s</span> to go
          </span>
        )}
        {until_s !== null && until_s <= 0 && <span> Its window is over.</span>}
      </p>
      <p>Both hands on the instrument. The frames are looked through afterwards.</p>
      <Button
        kind="main"
        big
        wide
        disabled={saving.value > 0}
        onClick={() => void burst(props, frame, "ended")}
      >
        The burst is over
      </Button>
    </section>
  );
}
