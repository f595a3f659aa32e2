/** Which optic can do what is asked for this patient, and why another cannot. Facts from pack and case; no pose here. */
import type { CaseState, Eye } from "../../log";
import type { FitResult, Optic } from "../../types.gen";
import { MODALITY_WORD } from "../words";

/** What stands against an optic, as sentences; an empty list means that it can do what is asked. */
export function against(
  optic: Optic,
  state: Pick<CaseState, "modalities" | "crossSections" | "pupil">,
  fits: readonly { eye: Eye; answer: FitResult | null }[],
): string[] {
  const why: string[] = [];
  const lacking = state.modalities.filter((m) => !optic.modalities.includes(m));
  for (const m of lacking) why.push(`It cannot take ${MODALITY_WORD[m].toLowerCase()}.`);
  if (state.crossSections && !optic.cross_sections) why.push("It cannot take cross-sections.");
  for (const { eye, answer } of fits) {
    const pupil_mm = state.pupil[eye]?.body.pupil_mm;
    if (pupil_mm !== undefined && pupil_mm < optic.least_pupil_mm) {
      why.push(`The pupil of the ${eye} eye is ${pupil_mm} mm; it needs ${optic.least_pupil_mm} mm.`);
    }
    if (answer !== null && !answer.feasible && answer.reason !== null) {
      why.push(`${eye === "right" ? "Right" : "Left"} eye: ${answer.reason.sentence}`);
    }
  }
  return why;
}

/** The part of what is asked that an optic can do: one visit often needs more than one optic. */
export function canDo(optic: Optic, state: Pick<CaseState, "modalities" | "crossSections">): string[] {
  const can = state.modalities.filter((m) => optic.modalities.includes(m)).map((m) => MODALITY_WORD[m].toLowerCase());
  if (state.crossSections && optic.cross_sections) can.push("cross-sections");
  return can;
}
