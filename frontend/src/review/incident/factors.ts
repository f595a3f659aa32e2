/**
 * What contributed to an incident, by the classes of the World Health Organization's Conceptual Framework for the
 * International Classification for Patient Safety, version 1.1 (2009), "Contributing factors / hazards" (from memory).
 * The log keeps the words themselves, so that they can be read without this list.
 */
export const FACTOR_SCALE = "WHO classes of contributing factors";
export const FACTORS = [
  {
    id: "Staff factors",
    text: "Staff factors",
    help: "attention, knowledge, tiredness, talking past each other",
  },
  { id: "Patient factors", text: "Patient factors", help: "movement, face, illness, understanding" },
  {
    id: "Work and environment factors",
    text: "Work and environment factors",
    help: "room, light, instrument",
  },
  {
    id: "Organisation and service factors",
    text: "Organisation and service factors",
    help: "lists, rules, staffing",
  },
  { id: "External factors", text: "External factors", help: "what the clinic cannot change" },
];

const KNOWN = new Set(FACTORS.map((factor) => factor.id));

/** As the form shows them: the classes that are ticked, and the rest one a line. */
export function splitFactors(factors: readonly string[]): { classes: string[]; words: string } {
  return {
    classes: factors.filter((factor) => KNOWN.has(factor)),
    words: factors.filter((factor) => !KNOWN.has(factor)).join("\n"),
  };
}

/** As they are sent: no empty ones, none twice. */
export function joinFactors(classes: readonly string[], words: string): string[] {
  const written = words.split("\n").map((line) => line.trim());
  return [...new Set([...classes, ...written])].filter(Boolean);
}
