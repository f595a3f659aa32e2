/** What the pack says for a reaction. Without it (older guidance) signs can still be logged, by the pack's own list. */
import type { Pack } from "../../types.gen";

export interface SignOption {
  id: string;
  text: string;
  group: string;
}

export interface Criterion {
  id: string;
  text: string;
  groups: string[][];
  least: number;
  source: string;
}

export interface TimedAction {
  id: string;
  text: string;
  asks?: "nothing" | "detail" | "drug";
}

export type Reading = "pulse" | "systolic" | "diastolic" | "saturation" | "breathing";

export interface ReadingField {
  id: Reading;
  text: string;
  unit: string;
  least: number;
  most: number;
  ask_below: number;
  ask_above: number;
  sign_below?: number | null;
  sign?: string;
  dye_notes?: Record<string, string>;
}

export interface Tables {
  remind_s: number;
  remind_text: string;
  caution: string;
  escalation: string;
  signs: SignOption[];
  criteria: Criterion[];
  actions: TimedAction[];
  observations: ReadingField[];
}

const field = (id: Reading, text: string, unit: string, most: number): ReadingField => ({
  id,
  text,
  unit,
  least: 0,
  most,
  ask_below: 0,
  ask_above: most,
});

/** Used where the pack has no tables of its own: what can be written down, and nothing that judges it. */
const PLAIN: Omit<Tables, "signs"> = {
  remind_s: 120,
  remind_text: "Look again: breathing, skin, pulse, pressure. Say the time aloud.",
  caution: "",
  escalation: "",
  criteria: [],
  actions: [
    { id: "help_called", text: "Help called" },
    { id: "laid_flat", text: "Laid flat" },
    { id: "legs_up", text: "Legs up" },
    { id: "oxygen", text: "Oxygen on" },
    { id: "airway", text: "Airway opened", asks: "detail" },
    { id: "drug_given", text: "Drug given", asks: "drug" },
  ],
  observations: [
    field("pulse", "Pulse", "a minute", 300),
    field("systolic", "Pressure, upper", "mmHg", 300),
    field("diastolic", "Pressure, lower", "mmHg", 200),
    field("saturation", "Saturation", "%", 100),
    field("breathing", "Breathing", "a minute", 90),
  ],
};

export function tablesOf(pack: Pack | null): Tables {
  const given = (pack as { reaction?: Tables | null } | null)?.reaction;
  if (given) return given;
  const signs = (pack?.choices.signs ?? [])
    .filter((s) => s.id !== "none_seen")
    .map((s) => ({ id: s.id, text: s.text, group: "other" }));
  return { ...PLAIN, signs };
}

/** Ids of the actions that ask what was given and how much. */
export function drugActions(pack: Pack | null): Set<string> {
  return new Set(tablesOf(pack).actions.flatMap((a) => (a.asks === "drug" ? [a.id] : [])));
}

/** The clinic's criteria that the signs seen so far meet. More signs can only meet more: nothing takes one back. */
export function met(tables: Pick<Tables, "criteria">, everSeen: ReadonlySet<string>): Criterion[] {
  return tables.criteria.filter(
    (c) => c.groups.filter((group) => group.some((sign) => everSeen.has(sign))).length >= c.least,
  );
}

/** Signs that these readings show by the clinic's own limits. */
export function signsOf(
  tables: Pick<Tables, "observations">,
  readings: Partial<Record<Reading, number | null>>,
): string[] {
  return tables.observations.flatMap((o) => {
    const value = readings[o.id] ?? null;
    const below = o.sign_below ?? null;
    return value !== null && below !== null && value < below && o.sign ? [o.sign] : [];
  });
}
