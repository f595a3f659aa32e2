import { describe, expect, it } from "vitest";
import type { CaseState } from "../log";
import type { Pack } from "../types.gen";
import { directionOf, languageFor, languageName, ownName, phraseIn, pickedLanguage } from "./languages";

const pack = {
  language: "en",
  phrases: {
    en: { blink: "Blink.", lid: "I hold your lid." },
    es: { blink: "Parpadee." },
    ar: { blink: "ارمش." },
    "pt-BR": {},
  },
  phrases_unreviewed: ["es", "ar"],
  phrase_fallbacks: { es: "en", "pt-BR": "es" },
} as unknown as Pack;

describe("languages", () => {
  it("knows which are written from right to left", () => {
    for (const tag of ["ar", "ar-EG", "he", "fa", "ur", "ks-Arab"]) expect(directionOf(tag)).toBe("rtl");
    for (const tag of ["en", "es", "pl", "arn", "az-Latn", "id"]) expect(directionOf(tag)).toBe("ltr");
  });
  it("names a language in its own words and in English", () => {
    expect(ownName("es")).toBe("Español");
    expect(ownName("pl")).toBe("Polski");
    expect(ownName("ar")).toBe("العربية");
    expect(languageName("ar")).toBe("Arabic");
    expect(languageName("not a tag")).toBe("not a tag");
  });
  it("says a phrase in the language that was asked for, with whether anyone has signed it", () => {
    expect(phraseIn(pack, "es", "blink")).toEqual({
      text: "Parpadee.",
      language: "es",
      unreviewed: true,
      standsIn: false,
    });
  });
  it("names the language that stands in: the fallback, then the pack's own", () => {
    expect(phraseIn(pack, "es", "lid")).toMatchObject({ language: "en", standsIn: true, unreviewed: false });
    expect(phraseIn(pack, "pt-BR", "blink")).toMatchObject({ language: "es", standsIn: true });
    expect(phraseIn(pack, "ar", "lid")).toMatchObject({ language: "en", standsIn: true });
    expect(phraseIn(pack, "ar", "nothing")).toBeNull();
  });
  it("speaks the case's language before what was picked, and the pack's own for one that it lacks", () => {
    const state = (language: string | null) =>
      ({ plan: { language: language === null ? null : { body: { language } } } }) as unknown as CaseState;
    pickedLanguage.value = "ar";
    expect(languageFor(pack, state("es"))).toBe("es");
    expect(languageFor(pack, state(null))).toBe("ar");
    expect(languageFor(pack, state("fr"))).toBe("en");
    pickedLanguage.value = null;
    expect(languageFor(pack, null)).toBe("en");
  });
});
