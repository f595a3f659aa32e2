import type { PlannedStep } from "../../pack";
import type { Pack } from "../../types.gen";
import { EYE_WORD } from "../words";

/** Which eye and optic a round of a step is for: "Right eye, Narrow"; empty for a step of the whole case. */
export function roundWords(pack: Pack, planned: Pick<PlannedStep, "eye" | "optic">): string {
  const optic = pack.optics.find((o) => o.id === planned.optic)?.name ?? planned.optic;
  return [planned.eye === null ? null : EYE_WORD[planned.eye], optic].filter((w) => w !== null).join(", ");
}
