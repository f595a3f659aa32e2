/** What the dose screen asks of the kernel, from what was typed. Pure. */
import { InputError, workDose } from "../../kernel";
import type { Dose, DoseRequest, Pack } from "../../types.gen";

export interface DoseDraft {
  weight: string;
  /** Age band of the pack's weights; empty where none is picked. */
  band: string;
  /** The weight, as typed, that somebody confirmed as right and in kilograms. */
  confirmed: string;
  concentration: string;
  madeUp: string;
}

export const NO_DOSE: DoseDraft = { weight: "", band: "", confirmed: "", concentration: "", madeUp: "" };

export type Asked = { dose: Dose } | { field: string; why: string } | { waits: string };

/** The day by this phone's clock, as approvals are dated. */
export function dayOf(at: number): string {
  const day = new Date(at);
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())}`;
}

/** What is still to be said before anything can be worked; null when all is there. */
function missing(pack: Pack, dye: string, draft: DoseDraft, withDye: string): string | null {
  const rule = pack.dyes.find((d) => d.id === dye);
  if (rule === undefined) return null; // the kernel says so
  const needsWeight = rule.rule === "per_kg" || rule.keep_below_mg_per_kg !== "" || withDye !== "";
  const ages = pack.dosing?.weights ?? [];
  if (needsWeight && ages.length > 0 && draft.band === "")
    return "Pick the age: which weights are usual goes by it.";
  if (needsWeight && draft.weight.trim() === "") return "Enter the weight.";
  if (draft.concentration === "") return "Pick the strength that stands on the vial.";
  if (rule.use_by_h !== "" && draft.madeUp.trim() === "") return "Enter how long ago it was made up.";
  return null;
}

/** A weight is never put right here: a comma, a unit or a second point is refused in words. */
export function askDose(
  pack: Pack,
  dye: string,
  draft: DoseDraft,
  more: { withDye: string; now: number },
): Asked {
  const waits = missing(pack, dye, draft, more.withDye);
  if (waits !== null) return { waits };
  const minutes = draft.madeUp.trim();
  if (minutes !== "" && !/^\d{1,7}$/.test(minutes))
    return { field: "made_up_min", why: `is "${draft.madeUp}"; enter whole minutes` };
  const request: DoseRequest = {
    dye,
    on: dayOf(more.now),
    weight_kg: draft.weight.trim(),
    band: draft.band,
    weight_confirmed: draft.confirmed !== "" && draft.confirmed === draft.weight.trim(),
    concentration_mg_ml: draft.concentration,
    with_dye: more.withDye,
    made_up_min: minutes === "" ? null : Number(minutes),
  };
  try {
    return { dose: workDose(pack, request) };
  } catch (error) {
    if (error instanceof InputError) return { field: error.field, why: error.why };
    throw error;
  }
}
