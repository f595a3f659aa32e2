/** The screens inside a case, by the name in the address: `#/case/ID/NAME/…`. A new one needs a row here. */
import type { ComponentType } from "preact";
import type { CaseState } from "../log";
import type { Held } from "../pack";
import { DoseScreen, InjectScreen, MapScreen, ReadyScreen, ScreeningScreen, SeriesScreen } from "./panels";
import { Screen as Face } from "./screens/Face";
import { Screen as Fixation } from "./screens/Fixation";
import { Screen as Frames } from "./screens/Frames";
import { Screen as Optic } from "./screens/Optic";
import { Screen as Position } from "./screens/Position";
import { Screen as Pupil } from "./screens/Pupil";
import { Screen as Step } from "./screens/Step";

export interface CaseScreenProps {
  state: CaseState;
  /** The pack that guides this case. */
  held: Held;
  /** What follows the screen's name in the address, such as an eye or a step's key. */
  tail: string[];
}

const SCREENS = new Map<string, ComponentType<CaseScreenProps>>([
  ["step", Step],
  ["optic", Optic],
  ["choice", Optic],
  ["face", Face],
  ["pupil", Pupil],
  ["fixation", Fixation],
  ["position", Position],
  ["frames", Frames],
  ["series", SeriesScreen],
  ["map", MapScreen],
  ["screening", ScreeningScreen],
  ["ready", ReadyScreen],
  ["dose", DoseScreen],
  ["inject", InjectScreen],
]);

/** The screen of this name, or null where there is none. */
export function caseScreen(name: string): ComponentType<CaseScreenProps> | null {
  return SCREENS.get(name) ?? null;
}
