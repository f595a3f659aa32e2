/** The timed series: the clocks, the frame that comes, what is next, and what is already had. */
import "../guide.css";
import "../position/position.css";
import "./series.css";
import { useMemo, useState } from "preact/hooks";
import { running } from "../../log";
import { stepsFor } from "../../pack";
import { Button, LinkButton, Notice } from "../../ui";
import { WhyAgain } from "../frames/WhyAgain";
import { firstEye, situationOf } from "../guide";
import { Caution } from "../position/Caution";
import { saving } from "../record";
import { hrefOf } from "../router";
import type { CaseScreenProps } from "../routes";
import { CannotKeep, Lost, NoLayout, NotIn, NotYet, Others, Plan } from "./Around";
import { type Answering, layOut } from "./answer";
import { Clocks, Uncertain } from "./Clocks";
import { type Course, clockFor, courseOf, isOpen, layoutOf, layoutsFor, type SeriesFrame } from "./course";
import { cues, soundReady } from "./cues";
import { FrameList } from "./FrameList";
import { LookThrough } from "./LookThrough";
import { MapSlot } from "./MapSlot";
import { BurstRuns, Now } from "./Now";
import { Stop } from "./Stop";
import { startWatch, timed } from "./watch";
import { frameLine, whenWords } from "./words";

export function SeriesScreen({ state, held }: CaseScreenProps) {
  startWatch();
  const { pack } = held;
  const one = timed.value.find((t) => t.state.id === state.id);
  const clocks = one?.clocks ?? [];
  const layout = layoutOf(pack, state);
  const [picked, setPicked] = useState<string | null>(null);
  const [again, setAgain] = useState<string | null>(null);
  const [looking, setLooking] = useState<SeriesFrame | null>(null);
  const course = layout === null ? null : (one?.course ?? courseOf(pack, layout, state, clocks));
  const chosen = course?.frames.find((frame) => frame.id === picked);
  const current = course?.running ?? chosen ?? course?.current ?? null;
  const mapped = (current ?? course?.frames[0])?.eye ?? firstEye(state);
  // drawn anew when a frame is answered, not with every look at the clock
  const map = useMemo(
    () =>
      layout && course ? (
        <MapSlot
          {...{ pack, state, optic: layout.optic, frames: course.frames }}
          eye={mapped}
          now={current?.id ?? null}
        />
      ) : null,
    [pack, state, mapped, current?.id, layout],
  );
  const step = stepsFor(pack, situationOf(state)).find((p) => p.step.screen === "series");
  const back = (
    <LinkButton wide href={hrefOf(state.id, "step", ...(step ? [step.key] : []))}>
      To the steps
    </LinkButton>
  );
  if (state.optic === null || layout === null || course === null) {
    return (
      <article class="stack">
        <h1>{state.optic === null ? "Choose the optic first" : "No timed layout fits"}</h1>
        {clocks.length > 0 && <Clocks clocks={clocks} />}
        {uncertain(state, clocks)}
        <NoLayout {...{ state, held }} />
        {back}
      </article>
    );
  }
  const optic = layout.optic;
  const clock = current ? clockFor(current, clocks) : undefined;
  const by: Answering = { state, layout, optic };
  const in_s = current === null || one?.now_s == null ? null : startOf(course, current) - one.now_s;
  const given = clocks.length > 0;
  return (
    <article class="stack">
      {given ? <Clocks clocks={clocks} /> : <NotYet {...{ state, held }} />}
      {!given && <CannotKeep course={course} pack={pack} />}
      {uncertain(state, clocks)}
      {course.running !== null && clock !== undefined ? (
        <BurstRuns
          {...by}
          frame={course.running}
          since_s={since(course.running, state, clock.seconds)}
          until_s={clock.seconds === null ? null : course.running.to_s - clock.seconds}
        />
      ) : course.stopped ? (
        <Notice kind="warn" title="The series is stopped">
          <p>{state.seriesStopped.at(-1)?.body.why}</p>
          {running(state) === null && (
            <Button disabled={saving.value > 0} onClick={() => void layOut(by)}>
              Go on with the series
            </Button>
          )}
        </Notice>
      ) : current === null ? (
        <section class="card card-now stack" aria-label="Done with the series">
          <p class="t-do">
            {course.frames.some(isOpen)
              ? "No frame is left that fits its window."
              : "Every frame of the series is answered."}
          </p>
        </section>
      ) : given && clock === undefined ? (
        <NotIn {...{ state, pack }} frame={current} />
      ) : given ? (
        <Now
          key={current.id}
          {...by}
          pack={pack}
          frame={current}
          protocol={layout.protocol}
          in_s={in_s}
          from={course.before}
          onAgain={(line, frame) => {
            setAgain(line);
            setPicked(frame.id);
          }}
          onAnswered={() => setPicked(null)}
        />
      ) : null}
      {chosen !== undefined && course.current !== null && chosen.id !== course.current.id && given && (
        <Button wide icon="back" onClick={() => setPicked(null)}>
          Back to the frame that comes: {frameLine(course.current)}
        </Button>
      )}
      {course.after !== null && given && !course.stopped && (
        <p class="series-after">
          <span class="quiet">Then</span> <span class="strong">{frameLine(course.after)}</span>
          {one?.now_s != null && (
            <span class="quiet number">
              {" "}
              {whenWords(startOf(course, course.after) - one.now_s).toLowerCase()}
            </span>
          )}
        </p>
      )}
      <Caution />
      {course.unseen.map((frame) => (
        <Button key={frame.id} wide icon="eye" onClick={() => setLooking(frame)}>
          Look through the burst: {frame.eye} eye
        </Button>
      ))}
      {given && <Lost course={course} by={by} />}
      {given && map}
      <section class="stack-tight" aria-label="All frames of the series">
        <h2>
          {course.frames.filter((f) => !isOpen(f)).length} of {course.frames.length} answered
        </h2>
        <FrameList
          course={course}
          pack={pack}
          onPick={(frame) => setPicked(frame.burst && !isOpen(frame) ? null : frame.id)}
        />
      </section>
      {!given && map}
      {(cues.value.sound || cues.value.speech) && given && !soundReady.value && (
        <p class="quiet t-small">Touch the screen once, so that the browser lets the countdown be heard.</p>
      )}
      {back}
      {given && !course.stopped && current !== null && <Stop state={state} />}
      {!given && layoutsFor(pack, state).length > 1 && <Others {...{ state, held }} layout={layout.id} />}
      <Plan course={course} pack={pack} />
      {again !== null && <WhyAgain {...{ state, pack }} line={again} onClose={() => setAgain(null)} />}
      {looking && <LookThrough by={by} frame={looking} onClose={() => setLooking(null)} />}
    </article>
  );
}

function uncertain(state: CaseScreenProps["state"], clocks: Parameters<typeof Clocks>[0]["clocks"]) {
  return clocks
    .filter((clock) => clock.state === "uncertain")
    .map((clock) => <Uncertain key={clock.dye} state={state} clock={clock} />);
}

/** When a frame should begin, on the line. */
function startOf(course: Course, frame: SeriesFrame): number {
  return frame.id === course.current?.id ? course.call_s : (frame.due_s ?? frame.start_s);
}

function since(frame: SeriesFrame, state: CaseScreenProps["state"], now_s: number | null): number | null {
  const begun = state.bursts.find(({ line }) => line === frame.burstLine)?.body.dye_s;
  return now_s === null || begun === null || begun === undefined ? null : now_s - begun;
}
