/** What stands around the frame that comes: what does not fit, what comes before the dye, and where the order is from. */
import { stepsFor } from "../../pack";
import type { Pack } from "../../types.gen";
import { Button, Fold, LinkButton, Notice, PickOne } from "../../ui";
import { situationOf } from "../guide";
import { saving } from "../record";
import { hrefOf } from "../router";
import type { CaseScreenProps } from "../routes";
import { count, MODALITY_WORD } from "../words";
import { type Answering, answer, layOut } from "./answer";
import { Checklist } from "./Checklist";
import { type Course, layoutsFor, type SeriesFrame } from "./course";
import { frameLine, remedySaid } from "./words";

/** What cannot be had as planned: out of reach by now, or not beside the others. */
export function Lost({ course, by }: { course: Course; by: Answering }) {
  if (course.stopped || (course.shut.length === 0 && course.crowded.length === 0)) return null;
  const rows = (frames: readonly SeriesFrame[]) => (
    <ul class="stack-tight">
      {frames.map((frame) => (
        <li key={frame.id} class="row-ends">
          <span>
            {frameLine(frame)} {frame.needed && <span class="strong">(needed)</span>}
          </span>
          <Button disabled={saving.value > 0} onClick={() => void answer(by, frame, "missed")}>
            Missed
          </Button>
        </li>
      ))}
    </ul>
  );
  return (
    <>
      {course.shut.length > 0 && (
        <Notice kind="warn" title="Their window is over">
          {rows(course.shut)}
        </Notice>
      )}
      {course.crowded.length > 0 && (
        <Notice kind="warn" title="Not all fit any more">
          <p>
            What is left was laid anew. These do not fit beside the others; tap one in the list to take it
            first.
          </p>
          {rows(course.crowded)}
        </Notice>
      )}
    </>
  );
}

export function NotYet({ state, held }: Pick<CaseScreenProps, "state" | "held">) {
  const inject = stepsFor(held.pack, situationOf(state)).find((p) => p.step.screen === "inject");
  return (
    <div class="stack-tight">
      <h1>No dye has been given yet</h1>
      <p>The clock begins when the injection is logged. This is the order that is followed then.</p>
      {inject && (
        <LinkButton kind="main" wide href={hrefOf(state.id, "step", inject.key)}>
          To the injection
        </LinkButton>
      )}
    </div>
  );
}

/** The frame that comes is of a dye that is not in: nothing of it can be taken, whatever the line says. */
export function NotIn({
  state,
  pack,
  frame,
}: Pick<CaseScreenProps, "state"> & { pack: Pack; frame: SeriesFrame }) {
  const dye = pack.dyes.find((one) => one.modality === frame.dye);
  return (
    <section class="card card-now stack" aria-label="A dye that is not in">
      <h2 class="t-do">{dye?.name ?? MODALITY_WORD[frame.dye]} is not in yet</h2>
      <p>
        {frameLine(frame)} is taken after it. Frames of the dye that is in can be picked from the list below.
      </p>
      {dye && (
        <LinkButton kind="main" big wide href={hrefOf(state.id, "inject", dye.id)}>
          To its injection
        </LinkButton>
      )}
    </section>
  );
}

export function NoLayout({ state, held }: Pick<CaseScreenProps, "state" | "held">) {
  return (
    <div class="stack">
      <p>
        No layout of this guidance is for these dyes, this optic and{" "}
        {state.eyes.length > 1 ? "two eyes" : "one eye"}. The frames are checked off without a plan in time.
      </p>
      <Checklist {...{ state, held }} />
    </div>
  );
}

export function Others({
  state,
  held,
  layout,
}: Pick<CaseScreenProps, "state" | "held"> & { layout: string }) {
  const all = layoutsFor(held.pack, state);
  const pick = (id: string | null): void => {
    const to = all.find((one) => one.id === id);
    if (to && to.id !== layout) void layOut({ state, layout: to });
  };
  return (
    <PickOne
      legend="Protocol"
      options={all.map((one) => {
        const known = held.pack.protocols.find((p) => p.id === one.protocol);
        return { id: one.id, text: known?.name ?? one.protocol, help: known?.summary ?? "" };
      })}
      value={layout}
      onPick={pick}
    />
  );
}

/** Said before the dye goes in: what was asked for and cannot be had, and what would make it fit. */
export function CannotKeep({ course, pack }: { course: Course; pack: Pack }) {
  const { layout } = course;
  if (layout.missed.length === 0) return null;
  const needed = layout.missed.filter((frame) => frame.needed).length;
  return (
    <Notice kind="warn" title={`${count(layout.missed.length, "frame", "frames")} asked for cannot be kept`}>
      {needed > 0 && <p class="strong">{needed} of them needed.</p>}
      {layout.remedies.map((remedy) => (
        <p key={remedy.sentence}>{remedySaid(pack, remedy)}</p>
      ))}
    </Notice>
  );
}

export function Plan({ course, pack }: { course: Course; pack: Pack }) {
  const { layout } = course;
  return (
    <Fold word="Where this order comes from">
      <div class="stack-tight t-small">
        <p>
          {course.protocol?.summary} Laid by the clinic's seconds for a frame and for each move; slack{" "}
          {Math.round(layout.slack_s)} s
          {layout.proved ? ", and no order keeps more frames" : ", order not proved to be the best"}.
        </p>
        {layout.missed.length > 0 && (
          <p>
            {layout.missed.length} {layout.missed.length === 1 ? "frame was" : "frames were"} asked for and
            cannot be kept.
          </p>
        )}
        {layout.remedies.map((remedy) => (
          <p key={remedy.sentence}>{remedySaid(pack, remedy)}</p>
        ))}
        {layout.notes.map((note) => (
          <p key={note}>{note}</p>
        ))}
        <p>The request, the protocol of the study and the clinician come first.</p>
      </div>
    </Fold>
  );
}
