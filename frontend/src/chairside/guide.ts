/** What the guidance panels share: which round they are for, and how a case reads as a situation. */
import { signal } from "@preact/signals";
import type { CaseState, Eye } from "../log";
import { fieldsFor, type Held, type Situation } from "../pack";
import type { Field, Pack, SafetyNoted } from "../types.gen";
import { openOver } from "./router";

/** Which round of a repeated step a screen is for. */
export interface Round {
  eye: Eye | null;
  optic: string | null;
}

export interface PanelProps {
  state: CaseState;
  held: Held;
  round: Round;
  /** Called after what the screen is for has been saved on this phone; `value` is what the step keeps. */
  onSaved: (value?: string) => Promise<void>;
  /** Called where nothing at all was done of what the step is for: it asks why, and passes the step with that. */
  onNone?: (() => void) | undefined;
}

export function situationOf(state: CaseState): Situation {
  return {
    eyes: state.eyes,
    studyEye: state.studyEye,
    modalities: state.modalities,
    flags: state.flags,
    everFlags: everFlags(state),
    crossSections: state.crossSections,
    optics: state.opticRuns,
  };
}

/** The flags of the case, and those that were taken off or amended away. */
function everFlags(state: CaseState): string[] {
  const written = state.entries.flatMap(({ type, written: body }) =>
    (type === "case.opened" || type === "case.flagged") && Array.isArray(body?.flags) ? body.flags : [],
  );
  return [...new Set([...state.flags, ...written.filter((flag) => typeof flag === "string")])];
}

/** Every frame that is asked of one eye with one optic, whichever step asks for it. */
export function allFields(pack: Pack, state: CaseState, eye: Eye, optic: string): Field[] {
  return fieldsFor(pack, situationOf(state), { fields: pack.fields.map((f) => f.id) }, { eye, optic });
}

/** The eye that a screen opens with when no round names one. */
export function firstEye(state: CaseState): Eye {
  return state.studyEye ?? state.eyes[0] ?? "right";
}

/** What is already known of a safety event when it is opened from a screen. The event sheet takes it and clears it. */
export const eventPrefill = signal<Partial<Omit<SafetyNoted, "salt">> | null>(null);

/** The optic touched: the event sheet opens with all that is known of it. */
export function openTouch(pack: Pack, eye: Eye, optic: string): void {
  const step = pack.steps.find(({ screen }) => screen === "position")?.id ?? null;
  eventPrefill.value = { what: "touched_by_optic", reached_patient: true, eye, optic, step };
  openOver("event");
}
