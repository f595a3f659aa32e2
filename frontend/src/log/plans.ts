/** The plan, the sectors to go back over and the language of a case. Pure. */
import type { BodyOf, LanguageChosen, PlanChosen, SweepSector } from "../types.gen";
import type { Noted } from "./case";

export interface PlanCourse {
  /** In order; the newest of an eye and optic stands. */
  chosen: Noted<PlanChosen>[];
  /** In order; the newest of an eye and sector stands. */
  sectors: Noted<SweepSector>[];
  language: Noted<LanguageChosen> | null;
}

export function noPlan(): PlanCourse {
  return { chosen: [], sectors: [], language: null };
}

type Apply<B> = (plan: PlanCourse, noted: Noted<B>) => void;

export const PLAN_APPLIERS: { [T in keyof BodyOf]?: Apply<BodyOf[T]> } = {
  "plan.chosen": (p, noted) => p.chosen.push(noted),
  "sweep.sector": (p, noted) => p.sectors.push(noted),
  "language.chosen": (p, noted) => {
    p.language = noted;
  },
};

const TEXT = (value: unknown): boolean => typeof value === "string";
const EYE = (value: unknown): boolean => value === "right" || value === "left";

/** What these bodies must have before they may change a case. */
export const PLAN_NEEDS: Partial<Record<keyof BodyOf, Record<string, (value: unknown) => boolean>>> = {
  "plan.chosen": { plan: TEXT, eye: EYE, optic: TEXT },
  "sweep.sector": { eye: EYE, sector: TEXT, state: TEXT },
  "language.chosen": { language: TEXT },
};
