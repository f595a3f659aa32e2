/** The lines of plan, sweep and language, told at the desk. */
import type { BodyOf } from "../types.gen";
import type { Names } from "./names";
import type { Telling } from "./telling";
import { languageWords, sectorWords } from "./words";

type Plans = "plan.chosen" | "sweep.sector" | "language.chosen";

const STATE = { covered: "covered", missing: "missing", dark: "too dark" };

export const PLAN_TELLERS: { [T in Plans]: (body: BodyOf[T], names: Names) => Telling } = {
  "plan.chosen": (b, n) => ({
    title: `Plan chosen, ${b.eye} eye`,
    tone: "plain",
    rows: [
      ["Plan", n.plan(b.plan)],
      ["Optic", n.optic(b.optic)],
      ...(b.reason ? ([["Reason", b.reason]] as [string, string][]) : []),
    ],
  }),
  "sweep.sector": (b) => ({
    title: `Looked over, ${b.eye} eye`,
    tone: b.state === "covered" ? "plain" : "caution",
    rows: [
      ["Sector", sectorWords(b.sector)],
      ["State", STATE[b.state]],
    ],
  }),
  "language.chosen": (b) => ({
    title: "Language of the patient",
    tone: "plain",
    rows: [["Language", languageWords(b.language)]],
  }),
};
