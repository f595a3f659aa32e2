/** Dose arithmetic on the phone: exact, rounded once at the end, shown only under an approved rule in date.
 * Never advice: it works out what the clinic's lead approved. `model/dye` is its reference. */
import type { Dose, DoseRequest, DoseStop, Dosing, Dye } from "../types.gen";
import {
  compare,
  type Decimal,
  decimal,
  minus,
  plus,
  shownRatio,
  times,
  typed,
  whole,
  wholeSteps,
  written,
} from "./decimal";
import { dateOf, ruleStop, useByStop, weightStop } from "./dosestops";
import { InputError } from "./shape";

const HEAVIEST_KG = whole(650);
const HALF = decimal("0.5");

/** What the kernel needs of a pack. */
export interface DosePack {
  readonly dosing: Dosing | null;
  readonly dyes: Dye[];
}

/** The answer. Throws InputError (field, why) for what was not said rightly; a `stop` is an answer. */
export function workDose(pack: DosePack, request: DoseRequest): Dose {
  const { dosing, dyes } = pack;
  if (dosing === null) throw new InputError("dye", `is "${request.dye}"; this pack has no dose rules`);
  const dye = find("dye", request.dye, dyes);
  const other = request.with_dye ? find("with_dye", request.with_dye, dyes) : null;
  if (other === dye) throw new InputError("with_dye", "is the same dye; name the other one");
  const today = dateOf("on", request.on);
  const concentration = concentrationOf(request, dye);
  const weight = weightOf(request, dye, other, dosing);
  const stop =
    ruleStop(dye, today) ??
    (other && ruleStop(other, today)) ??
    weightStop(request, weight, dosing) ??
    useByStop(request, dye);
  if (stop) return answer(request, dye, dosing, { stop });
  return worked(request, dye, other, dosing, weight, concentration);
}

function find(field: string, name: string, dyes: Dye[]): Dye {
  if (!name) throw new InputError(field, "is missing");
  const found = dyes.find(({ id }) => id === name);
  if (found) return found;
  const known = dyes.map(({ id }) => id).join(", ") || "none";
  throw new InputError(field, `is "${name}"; this pack has no rule for it; it has ${known}`);
}

function concentrationOf(request: DoseRequest, dye: Dye): Decimal {
  const field = "concentration_mg_ml";
  const known = dye.concentrations_mg_ml.join(", ");
  const text = request.concentration_mg_ml || dye.default_concentration_mg_ml;
  if (!text) throw new InputError(field, `is missing; read it off the vial; this clinic's are ${known}`);
  const value = typed(field, text);
  if (!dye.concentrations_mg_ml.some((one) => compare(decimal(one), value) === 0)) {
    throw new InputError(field, `is "${text}"; this clinic's are ${known}`);
  }
  return value;
}

/** Whether a weight is needed for these: a fixed dose without any ceiling per kg goes without. */
function needsWeight(dye: Dye, other: Dye | null, dosing: Dosing): boolean {
  if (dye.rule === "per_kg" || dye.keep_below_mg_per_kg !== "") return true;
  return other !== null && (other.rule === "per_kg" || dosing.keep_total_below_mg_per_kg !== "");
}

function weightOf(request: DoseRequest, dye: Dye, other: Dye | null, dosing: Dosing): Decimal | null {
  if (!request.weight_kg && !needsWeight(dye, other, dosing)) return null;
  const weight = typed("weight_kg", request.weight_kg);
  if (compare(weight, HEAVIEST_KG) > 0) {
    const why = `is "${request.weight_kg}"; nobody weighs more than ${written(HEAVIEST_KG)} kg`;
    throw new InputError("weight_kg", why);
  }
  return weight;
}

/** The dose in mg after its cap, and before it where the cap took hold. */
function byRule(dye: Dye, weight: Decimal | null): [Decimal, Decimal | null] {
  if (dye.rule === "fixed") return [decimal(dye.fixed_mg), null];
  if (weight === null) throw new InputError("weight_kg", "is missing");
  const raw = times(weight, decimal(dye.per_kg_mg));
  const cap = decimal(dye.cap_mg);
  return compare(raw, cap) > 0 ? [cap, raw] : [raw, null];
}

const ceilingOf = (dye: Dye, weight: Decimal): Decimal => times(weight, decimal(dye.keep_below_mg_per_kg));

function worked(
  request: DoseRequest,
  dye: Dye,
  other: Dye | null,
  dosing: Dosing,
  weight: Decimal | null,
  concentration: Decimal,
): Dose {
  const [dose, raw] = byRule(dye, weight);
  const more = other ? byRule(other, weight)[0] : whole(0);
  const total = plus(dose, more);
  // what the rounded volume holds must stay below all of these, and not pass the cap
  const below: Decimal[] = [];
  if (weight !== null) {
    for (const [one, amount] of [
      [dye, dose],
      [other, more],
    ] as const) {
      if (one?.keep_below_mg_per_kg && compare(amount, ceilingOf(one, weight)) >= 0) {
        return answer(request, dye, dosing, { stop: notBelow(one, amount, weight) });
      }
    }
    if (dye.keep_below_mg_per_kg) below.push(ceilingOf(dye, weight));
    if (other && dosing.keep_total_below_mg_per_kg) {
      const ceiling = times(weight, decimal(dosing.keep_total_below_mg_per_kg));
      if (compare(total, ceiling) >= 0) {
        return answer(request, dye, dosing, { stop: notBelowTotal(dosing, dye, other, total, weight) });
      }
      // each of the two dyes may round into half of what is left, so that both together stay below
      below.push(times(minus(plus(ceiling, dose), more), HALF));
    }
  }
  const step = decimal(dye.rounding_step_ml);
  let [steps, half] = wholeSteps(dose, times(concentration, step));
  let held = false;
  if (half && dye.rounding === "nearest") {
    const up = times(times(plus(steps, whole(1)), step), concentration);
    held = compare(up, decimal(dye.cap_mg)) > 0 || below.some((limit) => compare(up, limit) >= 0);
    if (!held) steps = plus(steps, whole(1));
  }
  if (steps.n === 0n) return answer(request, dye, dosing, { stop: tooSmall(dye, dose, concentration) });
  const volume = times(steps, step);
  const perKg = (amount: Decimal): string | null =>
    weight === null ? null : written(shownRatio(amount, weight));
  let working = line(dye, weight, dose, raw, volume, concentration, held);
  if (other) {
    working += `; with ${written(more)} mg of ${other.name}: ${written(total)} mg in all`;
    if (weight !== null) working += `, ${perKg(total)} mg/kg`;
  }
  return answer(request, dye, dosing, {
    dose_mg: written(dose),
    volume_ml: written(volume),
    drawn_mg: written(times(volume, concentration)),
    concentration_mg_ml: written(concentration),
    capped: raw !== null,
    per_kg: perKg(dose),
    total_mg: other ? written(total) : null,
    total_per_kg: other ? perKg(total) : null,
    working,
  });
}

/** What a second person works through: "18 kg × 7.7 mg/kg = 138.6 mg → 1.39 mL of 100 mg/mL". */
function line(
  dye: Dye,
  weight: Decimal | null,
  dose: Decimal,
  raw: Decimal | null,
  volume: Decimal,
  concentration: Decimal,
  held: boolean,
): string {
  let said: string;
  if (dye.rule === "fixed" || weight === null) said = `${written(dose)} mg fixed`;
  else {
    said = `${written(weight)} kg × ${written(decimal(dye.per_kg_mg))} mg/kg = ${written(raw ?? dose)} mg`;
    if (raw !== null) said += `, capped at ${written(dose)} mg`;
  }
  said += ` → ${written(volume)} mL of ${written(concentration)} mg/mL`;
  return said + (held ? ", rounded down so as not to pass a ceiling" : "");
}

function notBelow(dye: Dye, dose: Decimal, weight: Decimal): DoseStop {
  const reason =
    `${dye.name}: ${written(dose)} mg is ${written(shownRatio(dose, weight))} mg/kg` +
    ` for ${written(weight)} kg; the approved rule asks for less than ${dye.keep_below_mg_per_kg} mg/kg.` +
    " The physician decides.";
  return { code: "not_below_per_kg", reason };
}

function notBelowTotal(dosing: Dosing, dye: Dye, other: Dye, total: Decimal, weight: Decimal): DoseStop {
  const reason =
    `${dye.name} and ${other.name}: ${written(total)} mg in all is` +
    ` ${written(shownRatio(total, weight))} mg/kg for ${written(weight)} kg;` +
    ` the clinic asks for less than ${dosing.keep_total_below_mg_per_kg} mg/kg in all.` +
    " The physician decides.";
  return { code: "not_below_total", reason };
}

function tooSmall(dye: Dye, dose: Decimal, concentration: Decimal): DoseStop {
  const reason =
    `${dye.name}: ${written(dose)} mg of ${written(concentration)} mg/mL is too little to measure` +
    ` in steps of ${dye.rounding_step_ml} mL. The physician decides.`;
  return { code: "too_small", reason };
}

function answer(request: DoseRequest, dye: Dye, dosing: Dosing, given: Partial<Dose>): Dose {
  const stop = given.stop ?? null;
  return {
    dye: dye.id,
    name: dye.name,
    dose_mg: null,
    volume_ml: null,
    drawn_mg: null,
    concentration_mg_ml: null,
    capped: false,
    per_kg: null,
    with_dye: request.with_dye || null,
    total_mg: null,
    total_per_kg: null,
    working: null,
    flush_ml: stop ? null : dye.flush_ml,
    use_by_h: stop ? null : dye.use_by_h || null,
    arm_to_eye_s: stop ? null : dye.arm_to_eye_s,
    approved_by: dye.approved_by,
    approved_on: dye.approved_on,
    valid_until: dye.valid_until,
    cautions: dye.cautions,
    caution: dosing.caution,
    ...given,
    stop,
  };
}
