/** The frame that comes or waits: the largest thing on the screen, with what to set and how to answer it. */
import type { CaseState } from "../../log";
import { windowName } from "../../pack";
import type { FrameTaken, Pack } from "../../types.gen";
import { Button, Icon } from "../../ui";
import { PoseFacts } from "../frames/PoseFacts";
import { saving } from "../record";
import { EYE_WORD, MODALITY_WORD } from "../words";
import { type Answering, answer, burst } from "./answer";
import type { SeriesFrame } from "./course";
import { asksToDrawBack, type Placed } from "./moves";
import { placed } from "./relay";
import { isLate } from "./timing";
import { gazeTitle, whenWords, windowWords } from "./words";

export interface NowProps extends Answering {
  pack: Pack;
  state: CaseState;
  frame: SeriesFrame;
  protocol: string;
  /** Seconds until it should begin; null where its clock is uncertain. */
  in_s: number | null;
  /** Where eye, gaze and head were for the frame before. */
  from: Placed | null;
  /** It is logged as to be taken again, by this line. */
  onAgain: (line: string, frame: SeriesFrame) => void;
  onAnswered: () => void;
}

export function Now(props: NowProps) {
  const { pack, state, frame, in_s, from, protocol } = props;
  const move = asksToDrawBack(from, frame, pack);
  const late = in_s !== null && isLate(in_s);
  const pose = (
    <PoseFacts {...{ pack, state, eye: frame.eye, optic: props.optic, gaze_deg: frame.gaze_deg }} />
  );
  const tell = async (outcome: FrameTaken["outcome"]): Promise<void> => {
    const line = await answer(props, frame, outcome);
    if (line === null) return;
    if (outcome === "again") props.onAgain(line, frame);
    else props.onAnswered();
  };
  const busy = saving.value > 0;
  return (
    <section class={`card card-now stack series-now ${late ? "series-late" : ""}`} aria-label="This frame">
      <div>
        <div class="series-head t-do">
          <p>
            {EYE_WORD[frame.eye]}
            {frame.alone ? "" : `, ${MODALITY_WORD[frame.dye].toLowerCase()}`}
            {frame.burst ? ", burst" : ""}
          </p>
          <p class="series-when">
            <Icon name={late ? "warn" : "clock"} />
            <span>{in_s === null ? "When you can" : whenWords(in_s)}</span>
          </p>
        </div>
        <h1 class="series-title">{gazeTitle(frame)}</h1>
      </div>
      {move !== null && <DrawBack frame={frame} eyeChanges={move === "eye"} />}
      {pose}
      <p class="quiet">
        {windowName(pack, protocol, frame.window)}. Window <span class="number">{windowWords(frame)}</span>.
      </p>
      <div class="series-acts">
        {move !== null ? (
          <Button kind="main" big wide onClick={() => placed(state.id, frame.id)}>
            Moved, and back in place
          </Button>
        ) : frame.burst ? (
          <Button kind="main" big wide disabled={busy} onClick={() => void burst(props, frame, "started")}>
            Start the burst
          </Button>
        ) : (
          <Button kind="main" big wide icon="tick" disabled={busy} onClick={() => void tell("taken")}>
            Taken
          </Button>
        )}
        <div class="halves">
          {!frame.burst && move === null && (
            <Button icon="warn" disabled={busy} onClick={() => void tell("again")}>
              Again
            </Button>
          )}
          <Button icon="cross" disabled={busy} onClick={() => void tell("missed")}>
            Missed
          </Button>
        </div>
      </div>
    </section>
  );
}

function DrawBack({ frame, eyeChanges }: { frame: SeriesFrame; eyeChanges: boolean }) {
  return (
    <div class="stack-tight">
      <h2 class="t-do">Draw back first</h2>
      <ol class="numbered">
        <li>{eyeChanges ? `Draw back, and over to the ${frame.eye} eye.` : "Draw back."}</li>
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
