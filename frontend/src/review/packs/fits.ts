/** What a fit says, in words. */

import type { ClassFit, EyeDepthClass, NeckClass, NoseClass, TouchWord } from "../../types.gen";
import type { IconName } from "../../ui";

export const DEPTHS: readonly EyeDepthClass[] = ["deep-set", "average", "prominent"];
export const NOSES: readonly NoseClass[] = ["low", "medium", "high"];
export const NECKS: readonly NeckClass[] = ["free", "limited", "fixed"];

export const WORDS: Record<TouchWord, { text: string; icon: IconName }> = {
  likely_clear: { text: "likely clear", icon: "tick" },
  close: { text: "close", icon: "info" },
  expect_to_adjust: { text: "expect to adjust", icon: "warn" },
};

/** A figure with at most one place, never parted from its unit; "none" where there is none. */
export const figure = (value: number | null, unit: string): string =>
  value === null
    ? "none"
    : `${(Math.round(value * 10) / 10 + 0).toFixed(1).replace(/\.0$/, "").replace("-", "−")}${unit.replace(" ", "\u00a0")}`;

/** The head's turn: toward the fellow eye's side is plus, chin up is plus. */
export function turn(fit: ClassFit): string {
  const side = (fit.yaw_deg ?? 0) < 0 ? " toward this eye" : "";
  const chin = fit.pitch_deg ?? 0;
  const tip =
    Math.abs(chin) < 0.05 ? "" : `, chin ${chin > 0 ? "up" : "down"} ${figure(Math.abs(chin), "°")}`;
  return `${figure(Math.abs(fit.yaw_deg ?? 0), "°")}${side}${tip}`;
}

export const percent = (chance: number | undefined): string =>
  chance === undefined ? "none" : `${Math.round(chance * 100)} %`;

export const faceName = (fit: ClassFit): string => `${fit.eye_depth}, ${fit.nose} bridge`;
