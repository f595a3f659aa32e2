/**
 * The screens inside a case, by the name in the address: `#/case/ID/NAME/…`. Each stands in its own file and exports
 * `Screen`; a new file needs a row in NAMES and nothing else.
 */
import type { ComponentType } from "preact";
import type { CaseState } from "../log";
import type { Held } from "../pack";

export interface CaseScreenProps {
  state: CaseState;
  /** The pack that guides this case. */
  held: Held;
  /** What follows the screen's name in the address, such as an eye or a step's key. */
  tail: string[];
}

const NAMES = {
  step: "./screens/Step.tsx",
  optic: "./screens/Optic.tsx",
  face: "./screens/Face.tsx",
  pupil: "./screens/Pupil.tsx",
  fixation: "./screens/Fixation.tsx",
  position: "./screens/Position.tsx",
  frames: "./screens/Frames.tsx",
} as const;

const files = import.meta.glob<{ Screen: ComponentType<CaseScreenProps> }>(
  "./screens/{Step,Optic,Face,Pupil,Fixation,Position,Frames}.tsx",
  { eager: true },
);

export type CaseScreenName = keyof typeof NAMES;

/** The screen of this name, or null where there is none. */
export function caseScreen(name: string): ComponentType<CaseScreenProps> | null {
  const path = (NAMES as Record<string, string>)[name];
  return (path && files[path]?.Screen) || null;
}
