/** The gazes that the pack's fields ask for with one optic, each once, straight ahead first. */
import type { EyeSide, Field } from "../../types.gen";
import { gazeWords } from "./words";

export interface GazeChoice {
  id: string;
  text: string;
  gaze_deg: [number, number];
}

export function gazeId(gaze_deg: readonly [number, number]): string {
  return `${gaze_deg[0]},${gaze_deg[1]}`;
}

export function gazeChoices(fields: readonly Field[], eye: EyeSide): GazeChoice[] {
  const straight: [number, number] = [0, 0];
  const seen = new Map<string, [number, number]>([[gazeId(straight), straight]]);
  for (const field of fields)
    if (!seen.has(gazeId(field.gaze_deg))) seen.set(gazeId(field.gaze_deg), field.gaze_deg);
  return [...seen].map(([id, gaze_deg]) => ({ id, gaze_deg, text: shortGaze(eye, gaze_deg) }));
}

function shortGaze(eye: EyeSide, gaze_deg: readonly [number, number]): string {
  if (gaze_deg[0] === 0 && gaze_deg[1] === 0) return "Straight";
  return gazeWords(eye, gaze_deg).replace(" of the optic", "");
}
