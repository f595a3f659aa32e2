/** Whether a condition of the pack holds for a round of a step or a frame. Pure. */
import type { Condition, Optic, Pack } from "../types.gen";
import type { Eye, Situation } from "./types";

/** What a round is for. Where it names no eye (or optic), a condition on eyes (or optics) holds if it does for any
 * eye of the case (or any optic used so far). */
export interface RoundOf {
  eye: Eye | null;
  optic: string | null;
}

function isClose(pack: Pack, optic: string): boolean {
  const found: Optic | undefined = pack.optics.find((one) => one.id === optic);
  return found !== undefined && found.working_distance_mm <= pack.thresholds.close_optic_mm;
}

const anyIn = <T>(wanted: readonly T[], there: readonly T[]): boolean =>
  wanted.length === 0 || wanted.some((one) => there.includes(one));

const same = (wanted: boolean | null, is: readonly boolean[]): boolean =>
  wanted === null || is.includes(wanted);

export function holds(when: Condition, pack: Pack, situation: Situation, round: RoundOf): boolean {
  const eyes = round.eye === null ? situation.eyes : [round.eye];
  const optics = round.optic === null ? situation.optics : [round.optic];
  const { studyEye } = situation;
  return (
    anyIn(when.optics, optics) &&
    anyIn<string>(when.eyes, eyes) &&
    anyIn<string>(when.modalities, situation.modalities) &&
    anyIn(when.flags, situation.flags) &&
    !when.without_flags.some((flag) => situation.flags.includes(flag)) &&
    same(when.cross_sections, [situation.crossSections]) &&
    same(
      when.optic_change,
      optics.map((optic) => situation.optics.lastIndexOf(optic) > 0),
    ) &&
    same(
      when.close_optic,
      optics.map((optic) => isClose(pack, optic)),
    ) &&
    same(
      when.study_eye,
      eyes.map((eye) => studyEye === null || studyEye === eye),
    )
  );
}
