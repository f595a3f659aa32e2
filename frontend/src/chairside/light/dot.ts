/** How the outside light looks: size, colour and how often it blinks. Pure. */

/**
 * Never more than three flashes in any one second: WCAG 2.2, success criterion 2.3.1, from memory. It is a bound for
 * pages that people read; a patient in a dark room looks at nothing else, so the rates offered stay below it.
 */
export const MOST_BLINKS_PER_S = 3;

export const SIZES = [
  { id: "small", text: "Small", px: 8 },
  { id: "medium", text: "Medium", px: 20 },
  { id: "large", text: "Large", px: 48 },
  { id: "largest", text: "Largest", px: 112 },
] as const;

/** No blue: short waves scatter most in the eye and spoil dark adaptation (common practice, no source). */
export const COLOURS = [
  { id: "red", text: "Red" },
  { id: "amber", text: "Amber" },
  { id: "green", text: "Green" },
  { id: "white", text: "White" },
] as const;

export const RATES = [
  { id: "steady", text: "Steady", per_s: 0 },
  { id: "slow", text: "1 in 2 s", per_s: 0.5 },
  { id: "middle", text: "1 a second", per_s: 1 },
  { id: "quick", text: "2 a second", per_s: 2 },
] as const;

export type SizeId = (typeof SIZES)[number]["id"];
export type ColourId = (typeof COLOURS)[number]["id"];
export type RateId = (typeof RATES)[number]["id"];

export interface Dot {
  size: SizeId;
  colour: ColourId;
  rate: RateId;
}

/** The flag of a patient whom flashing light can harm. */
export const PHOTOSENSITIVE = "photosensitive";

/** What the light begins with: steady where the person has asked their phone for less motion. */
export function firstDot(reducedMotion: boolean): Dot {
  return { size: "medium", colour: "red", rate: reducedMotion ? "steady" : "middle" };
}

/** Seconds of one blink, on and off; null for a steady light. Whom flashing light can harm always gets a steady one. */
export function blinkSeconds(rate: RateId, steady: boolean): number | null {
  const per_s = RATES.find((r) => r.id === rate)?.per_s ?? 0;
  if (per_s <= 0 || steady) return null;
  return 1 / Math.min(per_s, MOST_BLINKS_PER_S);
}
