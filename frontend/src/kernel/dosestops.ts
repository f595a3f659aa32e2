/** Why no dose is shown: the phone's counterpart of the reference's stops, worded as it words them. */
import type { DoseRequest, DoseStop, Dosing, Dye } from "../types.gen";
import { compare, type Decimal, decimal, shownRatio, times, typed, whole, written } from "./decimal";
import { InputError } from "./shape";

const KG_PER_LB = decimal("0.45359237");

/** The text itself, when it is a date as YYYY-MM-DD: such dates compare as text. */
export function dateOf(field: string, text: string): string {
  if (!/^[0-9]{4}-[0-9]{2}-[0-9]{2}$/.test(text) || !isDay(text)) {
    throw new InputError(field, `is "${text}"; must be a date as YYYY-MM-DD`);
  }
  return text;
}

function isDay(text: string): boolean {
  const [year = 0, month = 0, day = 0] = text.split("-").map(Number);
  const date = new Date(0);
  date.setUTCFullYear(year, month - 1, day);
  return year > 0 && date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
}

export function ruleStop(dye: Dye, today: string): DoseStop | null {
  if (!dye.approved_by.trim() || !dye.approved_on || !dye.valid_until) {
    return { code: "not_approved", reason: `${dye.name}: the clinic's lead has not approved this rule.` };
  }
  if (today < dye.approved_on) {
    return {
      code: "not_yet_valid",
      reason:
        `${dye.name}: this rule is approved from ${dye.approved_on}, and today is ${today}.` +
        " Look at the clock of this device.",
    };
  }
  if (today > dye.valid_until) {
    return {
      code: "out_of_date",
      reason: `${dye.name}: the approval of this rule ended on ${dye.valid_until}, and today is ${today}.`,
    };
  }
  return null;
}

/** Asks where a weight is unusual; pounds taken for kilograms are the common slip. */
export function weightStop(request: DoseRequest, weight: Decimal | null, dosing: Dosing): DoseStop | null {
  let { ask_below_kg: low, ask_above_kg: high } = dosing;
  let whose = "";
  if (request.band) {
    const band = dosing.weights.find(({ id }) => id === request.band);
    if (!band) {
      const known = dosing.weights.map(({ id }) => id).join(", ") || "none";
      throw new InputError("band", `is "${request.band}"; this pack has ${known}`);
    }
    ({ ask_below_kg: low, ask_above_kg: high } = band);
    whose = ` (${band.name})`;
  }
  if (weight === null || request.weight_confirmed) return null;
  if (compare(decimal(low), weight) <= 0 && compare(weight, decimal(high)) <= 0) return null;
  const pounds = written(shownRatio(times(weight, KG_PER_LB), whole(1), 1));
  const said = written(weight);
  return {
    code: "weight_unlikely",
    reason:
      `Is ${said} kg right, and in kilograms? Usual here is ${low} to ${high} kg${whose}.` +
      ` ${said} lb would be ${pounds} kg. Weigh again or confirm.`,
  };
}

export function useByStop(request: DoseRequest, dye: Dye): DoseStop | null {
  const minutes = request.made_up_min;
  if (minutes === null) return null;
  if (!Number.isInteger(minutes) || minutes < 0 || minutes > 1_000_000) {
    throw new InputError("made_up_min", `is "${minutes}"; must be minutes from 0 up`);
  }
  if (!dye.use_by_h) return null;
  if (compare(whole(minutes), times(typed("use_by_h", dye.use_by_h), whole(60))) <= 0) return null;
  return {
    code: "past_use_by",
    reason:
      `${dye.name}: made up ${minutes} minutes ago, to be used within ${dye.use_by_h} hours.` +
      " Make up a new one.",
  };
}
