/** The map of one eye as the series goes: what was taken, what is asked for now, and what is to come. */
import { LinkButton } from "../../ui";
import { fieldAngle, type MapField, takenFields } from "../map/filling";
import { RetinaMap } from "../map/RetinaMap";
import { hrefOf } from "../router";
import { count, EYE_WORD } from "../words";
import { isOpen } from "./course";
import type { MapSlotProps } from "./MapSlot";
import { gazeTitle } from "./words";

export function SeriesMap({ pack, state, eye, optic, frames, now }: MapSlotProps) {
  const used = pack.optics.find((one) => one.id === optic);
  const { retina } = pack;
  if (used === undefined || retina === null || retina === undefined) return null;
  const taken = takenFields(pack, state, eye);
  const coming = new Map<string, MapField>();
  for (const frame of frames) {
    if (frame.eye !== eye || !isOpen(frame)) continue;
    const key = frame.gaze_deg.join();
    if (coming.has(key) && frame.id !== now) continue;
    coming.set(key, {
      id: frame.id,
      name: gazeTitle(frame),
      cone: [fieldAngle(used, state, eye, frame.gaze_deg), ...frame.gaze_deg],
      status: frame.id === now ? "now" : "open",
    });
  }
  const toCome = frames.filter((frame) => frame.eye === eye && isOpen(frame)).length;
  const words = `${EYE_WORD[eye]}: ${count(taken.length, "frame", "frames")} taken, ${toCome} to come`;
  return (
    <section class="stack-tight" aria-label="Map of the retina">
      <h2>{words}</h2>
      <RetinaMap pack={{ ...pack, retina }} eye={eye} fields={[...coming.values(), ...taken]} words={words} />
      <LinkButton wide href={hrefOf(state.id, "map", eye)}>
        The map at large
      </LinkButton>
    </section>
  );
}
