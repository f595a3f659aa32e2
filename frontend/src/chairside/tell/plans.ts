/** The lines of plan, sweep and language, told in words. */
import { planName } from "../../pack";
import type { BodyOf, Pack } from "../../types.gen";
import { languageName } from "../languages";
import { sectorWords } from "../map/sectors";
import { EYE_WORD } from "../words";

type Plans = "plan.chosen" | "sweep.sector" | "language.chosen";

export const SECTOR_WORD = { covered: "Covered", missing: "Missing", dark: "Too dark" } as const;

const together = (...parts: string[]): string => parts.filter(Boolean).join(" · ");

export const PLAN_TELL: {
  [T in Plans]: (body: BodyOf[T], pack: Pack | null) => { title?: string; detail?: string };
} = {
  "plan.chosen": (b, p) => ({
    detail: together(
      planName(p, b.plan),
      EYE_WORD[b.eye],
      p?.optics.find((o) => o.id === b.optic)?.name ?? b.optic,
      b.reason ?? "",
    ),
  }),
  "sweep.sector": (b) => ({
    detail: together(sectorWords(b.eye, b.sector), SECTOR_WORD[b.state], EYE_WORD[b.eye]),
  }),
  "language.chosen": (b) => ({ detail: languageName(b.language) }),
};
