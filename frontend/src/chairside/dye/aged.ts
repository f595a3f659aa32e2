/** A dose that was agreed is asked again at the injection: rules run out, what was made up goes off. Pure. */
import { InputError, workDose } from "../../kernel";
import type { CaseState } from "../../log";
import type { DoseRequest, Pack } from "../../types.gen";
import { askedDyes, type Closed, closedForInjection, doseStanding, notComputed } from "../screening/course";
import { dayOf } from "./ask";

/** Why nothing may be injected of this dye at this moment (wall clock, ms); empty when nothing stands in the way. */
export function closedNow(pack: Pack, state: CaseState, dye: string, now: number): Closed[] {
  const found = closedForInjection(pack, state, dye);
  const why = [agedDose(pack, state, dye, now), unlikeWeights(pack, state, dye)];
  for (const text of why) if (text !== null) found.push({ text, step: null, screen: "dose" });
  return found;
}

/** Why the dose that was worked would not be shown any more, or not as it was. An order has no dose of ours. */
function agedDose(pack: Pack, state: CaseState, dye: string, now: number): string | null {
  const { dose } = doseStanding(state, dye);
  const rule = pack.dyes?.find((d) => d.id === dye);
  if (dose === null || rule === undefined || !pack.dosing || notComputed(pack, state, dye).length > 0)
    return null;
  const { weight_kg, concentration_mg_ml, with_dye, made_up_min, volume_ml, dose_mg } = dose.body;
  if (rule.use_by_h !== "" && made_up_min == null)
    return "The dose does not say when the dye was made up. It is worked anew.";
  const request: DoseRequest = {
    dye,
    on: dayOf(now),
    weight_kg: weight_kg ?? "",
    band: "",
    weight_confirmed: true, // it was asked about when it was worked
    concentration_mg_ml,
    with_dye: with_dye ?? "",
    made_up_min: made_up_min == null ? null : made_up_min + Math.ceil(Math.max(0, now - dose.at) / 60_000),
  };
  try {
    const again = workDose(pack, request);
    if (again.stop !== null) return again.stop.reason;
    return again.volume_ml === volume_ml && again.dose_mg === dose_mg
      ? null
      : "By the guidance of this case the dose is another now. It is worked anew.";
  } catch (error) {
    if (error instanceof InputError) return `The dose cannot be followed: ${error.field} ${error.why}.`;
    throw error;
  }
}

/** Both dyes go into one patient: two weights mean that one of them is wrong. */
function unlikeWeights(pack: Pack, state: CaseState, dye: string): string | null {
  const weights = askedDyes(pack, state)
    .filter((d) => notComputed(pack, state, d.id).length === 0)
    .map((d) => doseStanding(state, d.id).dose?.body.weight_kg ?? null)
    .filter((weight) => weight !== null);
  if (doseStanding(state, dye).dose === null || new Set(weights.map(Number)).size < 2) return null;
  return `The dyes were worked with different weights: ${weights.join(" and ")} kg. They are worked anew with one.`;
}
