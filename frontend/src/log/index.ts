/** The log: append a line, fold lines into cases, carry them to the server. This file is its only door. */
export type { CaseState, DyeCourse, Entry, Eye, Injected, Modality, Noted, StepState } from "./case";
export { stepKey } from "./case";
export { tidyCode } from "./code";
export { foldCase } from "./fold";
export { openLog } from "./open";
export { asItCame, cameAfter } from "./place";
export type { PlanCourse } from "./plans";
export { endedAt, isLoose, isOnlyReaction, type Reaction, running } from "./reactions";
export type {
  Carrying,
  CarryingState,
  Device,
  EnrolResult,
  Failure,
  FailureKind,
  Lock,
  LockView,
  Log,
  Place,
  Reading,
  RefusedLine,
  Saved,
  StorageView,
  SyncState,
  SyncView,
  Unlocking,
  Unnamed,
  Where,
} from "./types";
export { AppendError } from "./types";
export { APP_VERSION } from "./version";
