/** Which optic can do what is asked for this patient, and why another cannot. Facts from pack and case; no pose here. */
import type { CaseState, Eye } from "../../log";
import type { FitResult, Optic } from "../../types.gen";
import { EYE_WORD, MODALITY_WORD } from "../words";

/** What stands against an optic, as sentences. */
export interface Verdict {
  /** What of the request it cannot take, whoever the patient is. */
  request: string[];
  /** What this patient's pupil or face does not allow. */
  patient: string[];
}

export function against(
  optic: Optic,
  state: Pick<CaseState, "modalities" | "crossSections" | "pupil">,
  fits: readonly { eye: Eye; answer: FitResult | null }[],
): Verdict {
  const request = state.modalities
    .filter((m) => !optic.modalities.includes(m))
    .map((m) => `It cannot take ${MODALITY_WORD[m].toLowerCase()}.`);
  if (state.crossSections && !optic.cross_sections) request.push("It cannot take cross-sections.");
  const patient: string[] = [];
  for (const { eye, answer } of fits) {
    const pupil_mm = state.pupil[eye]?.body.pupil_mm;
    if (pupil_mm !== undefined && pupil_mm < optic.least_pupil_mm) {
      patient.push(`The pupil of the ${eye} eye is ${pupil_mm} mm; it needs ${optic.least_pupil_mm} mm.`);
    }
    if (answer !== null && !answer.feasible && answer.reason !== null) {
      patient.push(`${EYE_WORD[eye]}: ${answer.reason.sentence}`);
    }
  }
  return { request, patient };
}

/** The verdict in one line; `lacks`: it takes what is asked for, but not so far out, so fine or so soon. */
export function headline(verdict: Verdict, can: readonly string[], lacks = false): string {
  if (verdict.patient.length > 0) return "Not for this patient as measured";
  if (verdict.request.length === 0) return lacks ? "Not all of what is asked" : "Can do what is asked";
  return can.length > 0 ? `Only in part: ${can.join(", ")}` : "Cannot do what is asked";
}

/** The part of what is asked that an optic can do: one visit often needs more than one optic. */
export function canDo(optic: Optic, state: Pick<CaseState, "modalities" | "crossSections">): string[] {
  const can = state.modalities
    .filter((m) => optic.modalities.includes(m))
    .map((m) => MODALITY_WORD[m].toLowerCase());
  if (state.crossSections && optic.cross_sections) can.push("cross-sections");
  return can;
}
