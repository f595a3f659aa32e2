/**
 * Where the eye should look now, as far as the case's lines say: the frame of the series that comes, else the next
 * frame of the list that is open, else the gaze that the last line names, else straight into the optic. The same on the
 * photographer's phone and on a helper's, which has the same lines.
 */
import { asItCame, type CaseState, type Eye } from "../../log";
import { fieldsFor, stepsFor } from "../../pack";
import type { Pack } from "../../types.gen";
import { frameRows, nextFrame } from "../frames/plan";
import { firstEye, situationOf } from "../guide";
import { type Course, courseOf, layoutOf } from "../series/course";
import { firstOpen } from "../steps/flow";
import { MODALITY_WORD } from "../words";

export interface Aim {
  eye: Eye;
  optic: string;
  gaze_deg: [number, number];
  /** What is photographed there, in the pack's words; empty where only a gaze is known. */
  name: string;
}

/** `course`: the series as this phone's clocks have it; a phone without them goes by the layout's own order. */
export function aimOf(pack: Pack, state: CaseState, course: Course | null = null): Aim | null {
  const said = fromSeries(pack, state, course) ?? fromStep(pack, state) ?? fromLines(state);
  if (said !== null || state.optic === null) return said;
  return { eye: firstEye(state), optic: state.optic, gaze_deg: [0, 0], name: "" };
}

/** The frame of the series that comes or runs, once a dye is given. */
function fromSeries(pack: Pack, state: CaseState, known: Course | null): Aim | null {
  if (state.dye.injected.length === 0) return null;
  const layout = layoutOf(pack, state);
  const course = known ?? (layout === null ? null : courseOf(pack, layout, state, []));
  const frame = course === null || course.stopped ? null : (course.running ?? course.current);
  if (course === null || frame === null) return null;
  return {
    eye: frame.eye,
    optic: course.layout.optic,
    gaze_deg: frame.gaze_deg,
    name: MODALITY_WORD[frame.dye],
  };
}

function fromStep(pack: Pack, state: CaseState): Aim | null {
  const situation = situationOf(state);
  const now = firstOpen(stepsFor(pack, situation), state.steps, state.optic);
  const optic = now?.optic ?? state.optic;
  if (now === null || now.step.screen !== "frames" || optic === null) return null;
  const eye = now.eye ?? firstEye(state);
  const fields = fieldsFor(pack, situation, now.step, { eye, optic });
  const taken = state.frames.map((n) => n.body);
  const next = nextFrame(frameRows(fields, taken, { eye, optic, asked: state.modalities }));
  return next === null ? null : { eye, optic, gaze_deg: next.field.gaze_deg, name: next.field.name };
}

function fromLines(state: CaseState): Aim | null {
  const said = asItCame<CaseState["advised"][number] | CaseState["frames"][number]>(state, [
    ...state.advised,
    ...state.frames,
  ]).at(-1);
  if (said === undefined) return null;
  const { eye, optic, gaze_deg } = said.body;
  return { eye, optic, gaze_deg, name: "" };
}
