/** A case as it stands: the fold of its lines. Types only; `fold.ts` makes them. */
import type {
  CaseClosed,
  CaseOpened,
  ClockUncertain,
  ComfortNoted,
  EyeSide,
  FaceMeasured,
  FixationChosen,
  FrameTaken,
  PauseNoted,
  PoseAdvised,
  PoseFound,
  PupilMeasured,
  SafetyNoted,
  SeriesBurst,
  SeriesLaid,
  SeriesLooked,
  SeriesStopped,
} from "../types.gen";
import type { DyeCourse } from "./dye";
import type { Lack } from "./lacking";
import type { PlanCourse } from "./plans";
import type { ReactionCourse } from "./reactions";

export type { DyeCourse, Injected } from "./dye";
export type Eye = EyeSide;
export type Modality = CaseOpened["modalities"][number];

/** What a line said, as it stands after its amendments. `line` is the id of the first line, not of the amendment. */
export interface Noted<T> {
  line: string;
  at: number;
  device: string;
  body: T;
}

export interface StepState {
  state: "done" | "skipped";
  line: string;
  at: number;
  value?: string | null;
  reason?: string;
  note?: string;
}

/** One line in display order. `body` is as it stands: the amended one where there is one, null where this version
 * cannot read it (`known` false: kept, carried, shown as waiting). A withdrawn line keeps the body that it had. */
export interface Entry {
  line: string;
  device: string;
  seq: number;
  at: number;
  actor: string | null;
  type: string;
  known: boolean;
  pack: string | null;
  practice: boolean;
  body: Record<string, unknown> | null;
  /** The body as it was first written, whatever was said of it later. */
  written: Record<string, unknown> | null;
  /** The line of the amendment that stands, or null. */
  amendedBy: string | null;
  /** True when the amendment that stands says that this did not happen. */
  withdrawn: boolean;
  /** What the line does not say, so that it counts for nothing. */
  lacks: Lack | null;
}

export interface CaseState extends ReactionCourse {
  id: string;
  /** The clinic's own case code; empty until the line that opened the case has arrived. */
  code: string;
  practice: boolean;
  eyes: Eye[];
  studyEye: Eye | null;
  modalities: Modality[];
  crossSections: boolean;
  flags: string[];
  note: string;
  state: "open" | "closed";
  outcome: CaseClosed["outcome"] | null;
  openedAt: number;
  closedAt: number | null;
  /** Time of the last line, by the device that wrote it. */
  lastAt: number;
  /** The latest time among its lines, as they are merged: what is written next comes after it. */
  latest: number;
  /** SHA-256 of the guidance pack that the case began with. */
  pack: string | null;
  /** Device that opened or last took the case. */
  heldBy: string;
  /** Optic in use. */
  optic: string | null;
  /** Optics used, each once, in the order of first use. */
  optics: string[];
  /** Optics in the order in which they were put on; one that was put on again stands again. */
  opticRuns: string[];
  steps: Map<string, StepState>;
  face: Partial<Record<Eye, Noted<FaceMeasured>>>;
  pupil: Partial<Record<Eye, Noted<PupilMeasured>>>;
  fixation: Partial<Record<Eye, Noted<FixationChosen>>>;
  advised: Noted<PoseAdvised>[];
  found: Noted<PoseFound>[];
  frames: Noted<FrameTaken>[];
  laid: Noted<SeriesLaid>[];
  bursts: Noted<SeriesBurst>[];
  looked: Noted<SeriesLooked>[];
  seriesStopped: Noted<SeriesStopped>[];
  /** With the count at that line, and the start that it counts from: an agreed reading is a new zero of the clock. */
  clockUncertain: (Noted<ClockUncertain> & { mono: number; boot: string })[];
  comfort: Noted<ComfortNoted>[];
  pauses: Noted<PauseNoted>[];
  safety: Noted<SafetyNoted>[];
  dye: DyeCourse;
  plan: PlanCourse;
  handedTo: string | null;
  entries: Entry[];
}

/** Key of a round of a step: a step asked for each eye or each optic has one state for each. */
export function stepKey(step: string, eye: Eye | null = null, optic: string | null = null): string {
  return `${step}|${eye ?? ""}|${optic ?? ""}`;
}
