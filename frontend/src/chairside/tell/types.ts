/** What the types of line and their fixed values are called on the screen. */
import { REACTION_WORD } from "./reactions";

export const TYPE_WORD: Record<string, string> = {
  "case.opened": "Case opened",
  "case.flagged": "What to know, changed",
  "case.taken": "Taken over by a phone",
  "case.handed_over": "Handed over",
  "case.closed": "Case closed",
  "optic.chosen": "Optic chosen",
  "step.done": "Done",
  "step.skipped": "Not done",
  "face.measured": "Face measured",
  "pupil.measured": "Pupil measured",
  "fixation.chosen": "Way to guide the eye",
  "pose.advised": "Turn advised",
  "pose.found": "How it was in truth",
  "frame.taken": "Frame",
  "plan.chosen": "Plan of fields",
  "sweep.sector": "Sector looked over",
  "language.chosen": "Language of the patient",
  "series.laid": "Series laid",
  "series.burst": "Burst",
  "series.looked": "Burst looked through",
  "series.stopped": "Series stopped",
  "clock.uncertain": "Dye clock uncertain",
  "comfort.noted": "Comfort",
  "pause.noted": "Pause",
  "safety.noted": "Safety event",
  "screening.answered": "Screening",
  "physician.asked": "Physician asked",
  "stop.released": "Stop released",
  "dye.left_out": "Goes on without dye",
  "dose.worked": "Dose worked",
  "dose.checked": "Dose checked by a second person",
  "dye.injected": "Injection began",
  "dye.flushed": "Flushed",
  "leak.asked": "Leak at the needle",
  "watch.started": "Watch began",
  "watch.ended": "Watch ended",
  "takeaway.given": "Take-away card",
  ...REACTION_WORD,
  "line.amended": "Amendment",
  "device.enrolled": "Phone enrolled",
  "lines.confirmed": "Who wrote on the locked phone",
  "storage.asked": "Browser asked to keep the store",
  "pack.taken": "Guidance taken in",
  "pack.refused": "Guidance refused",
};

export const OUTCOME_WORD = { completed: "Completed", stopped: "Stopped", cancelled: "Cancelled" } as const;

export const POSE_WORD = {
  as_advised: "As advised",
  more: "More turn was needed",
  less: "Less turn was enough",
  not_reached: "Not reached",
} as const;

export const FRAME_WORD = { taken: "Taken", again: "To be taken again", missed: "Missed" } as const;

export const METHOD_WORD = {
  inside: "Inside light",
  outside: "Outside light",
  spoken: "Spoken guidance",
} as const;

/** Why no turn was computed, by the model's codes. */
export const NO_TURN: Record<string, string> = {
  child_no_computed_turn: "none computed: a child",
  unusual_face_no_computed_turn: "none computed: the tables do not describe this face",
  eye_cannot_reach_gaze: "none: the eye cannot reach this gaze",
  no_pose_clears_face: "none: no head position clears the face",
};
