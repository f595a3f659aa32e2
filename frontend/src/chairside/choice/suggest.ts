/** Which optic is suggested for what is asked, and what stands against the others: looked up in the pack's table, by
 * the rule of `model/choice.py`, which is the reference (`tests/model/test_choice_parity.py` holds the two together). */
import type { CaseState } from "../../log";
import type { ChoiceRow, PackChoice } from "../../types.gen";

export interface Asked {
  modalities: CaseState["modalities"];
  crossSections: boolean;
  /** Least pixels per degree, most minutes; null: not asked. */
  detail_px_per_deg: number | null;
  minutes: number | null;
}

export interface Judged {
  row: ChoiceRow;
  /** Why it does not do all that is asked, each a sentence; empty where it does. */
  whyNot: string[];
  /** Optics that do all that is asked, and are no worse in any figure and better in one. */
  dominatedBy: string[];
  inTime: boolean | null;
}

export interface Suggestion {
  rows: Judged[];
  suggested: ChoiceRow | null;
  /** Why that one, or why none: one sentence. */
  why: string;
  /** What each of the others that do it would give and cost. */
  trades: string[];
}

export function suggest(choice: PackChoice, asked: Asked): Suggestion {
  const first = choice.rows.map((row) => ({ row, whyNot: whyNot(row, asked) }));
  const does = new Set(first.filter((j) => j.whyNot.length === 0).map((j) => j.row.optic));
  const rows = first.map(
    (j): Judged => ({
      ...j,
      dominatedBy: does.has(j.row.optic) ? j.row.dominated_by.filter((id) => does.has(id)) : [],
      inTime: asked.minutes === null ? null : j.row.seconds <= asked.minutes * 60,
    }),
  );
  const fit = (id: string): Judged | undefined =>
    rows.find((j) => j.row.optic === id && does.has(id) && j.dominatedBy.length === 0);
  const quickest = choice.quickest.map(fit).find((j) => j !== undefined);
  const kept = asked.minutes === null ? undefined : choice.farthest.map(fit).find((j) => j?.inTime === true);
  const pick = (kept ?? quickest)?.row ?? null;
  return {
    rows,
    suggested: pick,
    why: why(pick, asked, kept !== undefined),
    trades: choice.rows.flatMap(({ optic }) => {
      const words = does.has(optic) ? pick?.against[optic] : undefined;
      return words === undefined ? [] : [words];
    }),
  };
}

function whyNot(row: ChoiceRow, asked: Asked): string[] {
  const lacks: string[] = [];
  const missing = asked.modalities.filter((m) => !row.modalities.includes(m));
  if (missing.length > 0) {
    lacks.push(`It does not take ${missing.map((m) => m.replaceAll("_", " ")).join(" or ")}.`);
  }
  if (asked.crossSections && !row.cross_sections) lacks.push("It takes no cross-sections.");
  if (asked.detail_px_per_deg !== null && row.detail_px_per_deg < asked.detail_px_per_deg) {
    lacks.push(`It shows ${row.detail_px_per_deg} pixels per degree; ${asked.detail_px_per_deg} are asked.`);
  }
  return [...lacks, ...row.why_not];
}

function why(pick: ChoiceRow | null, asked: Asked, inTime: boolean): string {
  if (pick === null) return "None of the clinic's optics does all that is asked: each row says why not.";
  if (asked.minutes === null) return `The quickest: ${pick.says}.`;
  if (inTime) return `The farthest from the eye that keeps to ${asked.minutes} min: ${pick.says}.`;
  return `None keeps to ${asked.minutes} min; this is the quickest: ${pick.says}.`;
}
