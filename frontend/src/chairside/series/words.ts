/** What the series screen says of a frame. Pure. */
import type { Pack, Remedy } from "../../types.gen";
import { gazeWords } from "../position/words";
import { clockText } from "../tell/series";
import { EYE_WORD, MODALITY_WORD } from "../words";
import type { SeriesFrame } from "./course";
import { isLate } from "./timing";

/** Where the eye looks, as short as it can be said: the largest words on the screen. */
export function gazeTitle(frame: Pick<SeriesFrame, "eye" | "gaze_deg">): string {
  const words = gazeWords(frame.eye, frame.gaze_deg);
  return words === "straight into the optic" ? "Straight" : words.replace(" of the optic", "");
}

/** The whole frame in a line: "Right eye, straight"; with two dyes it says which, for the filter is another. */
export function frameLine(frame: SeriesFrame): string {
  const title = gazeTitle(frame);
  const dye = frame.alone ? "" : `, ${MODALITY_WORD[frame.dye].toLowerCase()}`;
  return `${EYE_WORD[frame.eye]}, ${title === "Straight" ? "straight" : title}${dye}${frame.burst ? ", burst" : ""}`;
}

/** As it is spoken: short, for it must be over before the second that it speaks of. */
export function spokenFrame(frame: SeriesFrame): string {
  return frameLine(frame).replaceAll("°", " degrees");
}

/** "in 0:23", "now", "waits for 0:40": how the frame stands to the clock; `in_s` until it should begin. */
export function whenWords(in_s: number): string {
  if (in_s > 1) return `In ${clockText(Math.ceil(in_s))}`;
  if (!isLate(in_s)) return "Now";
  return `Waits for ${clockText(-in_s)}`;
}

/** "window 3:00 to 5:00, needed". */
export function windowWords(frame: SeriesFrame): string {
  const need = frame.needed ? "needed" : "wanted";
  return `${clockText(frame.from_s)} to ${clockText(frame.to_s)}, ${need}`;
}

/** What would make everything fit, with the optic by its name: the compiler knows it by its id. */
export function remedySaid(pack: Pick<Pack, "optics">, remedy: Remedy): string {
  const name = pack.optics.find((optic) => optic.id === remedy.optic)?.name;
  return name === undefined ? remedy.sentence : remedy.sentence.replace(`'${remedy.optic}'`, `“${name}”`);
}
