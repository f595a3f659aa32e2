/** Writing what became of a frame or a burst, and with the first of them what is followed. */

import type { CaseState } from "../../log";
import type { FrameTaken, Layout } from "../../types.gen";
import { app } from "../app";
import { record } from "../record";
import { eyeFor, type SeriesFrame } from "./course";
import { secondsNow } from "./watch";

export interface Answering {
  state: CaseState;
  layout: Layout;
  optic: string;
}

/** The frame's own dye clock at the tap, in tenths of a second; null while it is uncertain. */
function tenths(by: Answering, frame: SeriesFrame): number | null {
  const seconds = secondsNow(by.state.id, frame.dye);
  return seconds === null ? null : Math.round(seconds * 10) / 10;
}

/** The case's own record of what is followed, once, before the first frame by it. */
async function laid({ state, layout }: Answering): Promise<boolean> {
  const now = app.log.caseOf(state.id) ?? state;
  if (now.laid.at(-1)?.body.layout === layout.id) return true;
  return layOut({ state, layout });
}

/** From here on this layout is followed; after a stop, again. */
export async function layOut({ state, layout }: Pick<Answering, "state" | "layout">): Promise<boolean> {
  const first = eyeFor(state, "study");
  const eyes = layout.eyes === "two" ? [first, eyeFor(state, "fellow")] : [first];
  const body = { protocol: layout.protocol, layout: layout.id, eyes };
  return (await record("series.laid", body, { case: state.id })) !== null;
}

/** The line that says what became of a frame; null where it was not saved. Why it is taken again is told after. */
export async function answer(
  by: Answering,
  frame: SeriesFrame,
  outcome: FrameTaken["outcome"],
): Promise<string | null> {
  // of the tap, not of the disk; a burst has its own time
  const dye_s = frame.status === "shot" ? null : tenths(by, frame);
  if (!(await laid(by))) return null;
  const saved = await record(
    "frame.taken",
    {
      eye: frame.eye,
      optic: by.optic,
      modality: frame.dye,
      field: frame.field,
      gaze_deg: frame.gaze_deg,
      outcome,
      reason: "",
      series_frame: frame.id,
      dye_s,
      burst: frame.burstLine,
    },
    { case: by.state.id },
  );
  return saved?.id ?? null;
}

export async function burst(by: Answering, frame: SeriesFrame, state: "started" | "ended"): Promise<void> {
  const dye_s = tenths(by, frame);
  if (!(await laid(by))) return;
  const body = { state, eye: frame.eye, optic: by.optic, frames: [frame.id], dye_s };
  await record("series.burst", body, { case: by.state.id });
}

/** The burst was looked through: its bad frames by number, and with them what became of it as a whole. */
export async function looked(
  by: Answering,
  frame: SeriesFrame,
  shots: number,
  bad: number[],
): Promise<boolean> {
  if (frame.burstLine === null) return false;
  const body = { burst: frame.burstLine, shots, bad };
  if ((await record("series.looked", body, { case: by.state.id })) === null) return false;
  return (await answer(by, frame, bad.length < shots ? "taken" : "missed")) !== null;
}
