/** The patient's language: its name, the way it is written, and what it says. Pure but for what was picked. */
import { signal } from "@preact/signals";
import type { CaseState } from "../log";
import type { Pack } from "../types.gen";

/** Written from right to left, by the language or by the script that its tag names (ISO 15924, BCP 47). */
const RIGHT_TO_LEFT = /^(ar|arc|dv|fa|he|ckb|ku|nqo|ps|sd|ug|ur|yi)(-|$)|-(Arab|Hebr|Syrc|Thaa|Nkoo)(-|$)/i;

export function directionOf(language: string): "rtl" | "ltr" {
  return RIGHT_TO_LEFT.test(language) ? "rtl" : "ltr";
}

/** In its own words, as a patient looks for it: "Español". The tag where the browser does not know it. */
export function ownName(language: string): string {
  return nameIn(language, language);
}

/** In English, as the record has it: "Spanish". */
export function languageName(language: string): string {
  return nameIn(language, "en");
}

function nameIn(language: string, words: string): string {
  try {
    const name =
      new Intl.DisplayNames([words], { type: "language", fallback: "code" }).of(language) ?? language;
    return name.charAt(0).toLocaleUpperCase(words) + name.slice(1);
  } catch {
    return language; // a tag that the browser refuses still names itself
  }
}

export interface Said {
  text: string;
  /** The language that the text is in: the one that was asked for, or the one that stands in for it. */
  language: string;
  /** Nobody who speaks it has signed the wording. */
  unreviewed: boolean;
  /** It was asked for in another language, which lacks it. */
  standsIn: boolean;
}

/** What a phrase is in a language; by the named fallback, then the pack's own language, where it is not said in it. */
export function phraseIn(pack: Pack, language: string, phrase: string): Said | null {
  for (const spoken of [language, pack.phrase_fallbacks?.[language], pack.language]) {
    if (spoken === undefined) continue;
    const text = pack.phrases[spoken]?.[phrase];
    if (text === undefined) continue;
    const unreviewed = pack.phrases_unreviewed?.includes(spoken) ?? false;
    return { text, language: spoken, unreviewed, standsIn: spoken !== language };
  }
  return null;
}

/** Picked where there is no case to keep it with; it stays until the app is closed. */
export const pickedLanguage = signal<string | null>(null);

/** The language to speak in: the case's own, else what was picked, else the pack's. */
export function languageFor(pack: Pack, state: CaseState | null): string {
  const wanted = state?.plan.language?.body.language ?? pickedLanguage.value;
  return wanted !== null && pack.phrases[wanted] ? wanted : pack.language;
}
