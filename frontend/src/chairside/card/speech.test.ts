import { describe, expect, it } from "vitest";
import { voiceFor } from "./speech";

const voice = (lang: string, localService = true, isDefault = false): SpeechSynthesisVoice => ({
  lang,
  localService,
  default: isDefault,
  name: `${lang} ${localService}`,
  voiceURI: lang,
});

describe("a voice for a language", () => {
  it("takes the very tag before another of the same language", () => {
    const found = voiceFor([voice("es-MX"), voice("es-ES"), voice("pl-PL")], "es-ES");
    expect(found).toMatchObject({ kind: "here", voice: { lang: "es-ES" } });
  });
  it("takes any of the language where the tag names no country", () => {
    expect(voiceFor([voice("ar-SA"), voice("en-GB")], "ar")).toMatchObject({ voice: { lang: "ar-SA" } });
    expect(voiceFor([voice("pl_PL")], "pl")).toMatchObject({ voice: { lang: "pl_PL" } }); // Android writes it so
  });
  it("does not count a voice that needs the network, and says so", () => {
    expect(voiceFor([voice("ar-XA", false)], "ar")).toEqual({ kind: "elsewhere" });
    expect(voiceFor([voice("ar-XA", false), voice("ar-EG")], "ar")).toMatchObject({
      voice: { lang: "ar-EG" },
    });
  });
  it("has none for a language that only begins with the same letters", () => {
    expect(voiceFor([voice("arn-CL"), voice("en-GB")], "ar")).toEqual({ kind: "none" });
    expect(voiceFor([], "en")).toEqual({ kind: "none" });
  });
});
