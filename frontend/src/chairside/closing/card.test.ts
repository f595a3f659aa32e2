import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { Takeaway } from "../../types.gen";
import { cardText, directionOf, languagesOf, linesFor, piecesOf } from "./card";

const line = (id: string, dyes: string[], text: Record<string, string>) => ({ id, dyes, text, source: "" });
const CARD: Takeaway = {
  title: { en: "After", ar: "بعد", es: "Después" },
  reach: { en: "Call 555-0112.", ar: "اتصل 555-0112." },
  unreviewed: ["ar"],
  lines: [
    line("skin", ["fluorescein"], { en: "Yellow.", ar: "أصفر", es: "Amarillo" }),
    line("light", [], { en: "Light.", ar: "ضوء", es: "Luz" }),
  ],
};
const injected = (...dyes: string[]): CaseState =>
  ({ dye: { injected: dyes.map((dye) => ({ body: { dye } })) } }) as unknown as CaseState;

describe("the take-away card", () => {
  it("says what the dyes that went in ask for", () => {
    expect(linesFor(CARD, injected("fluorescein")).map((l) => l.id)).toEqual(["skin", "light"]);
    expect(linesFor(CARD, injected("green")).map((l) => l.id)).toEqual(["light"]);
  });

  it("is offered only in languages in which it is whole, the clinic's own first", () => {
    expect(languagesOf(CARD, { language: "ar" })).toEqual(["ar", "en"]); // Spanish does not say whom to call
    expect(languagesOf(CARD, { language: "de" })).toEqual(["en", "ar"]);
  });

  it("runs from right to left where the script does", () => {
    expect(["ar", "he", "fa-IR", "ur", "en", "pl", "es-MX"].map(directionOf)).toEqual([
      "rtl",
      "rtl",
      "rtl",
      "rtl",
      "ltr",
      "ltr",
      "ltr",
    ]);
  });

  it("keeps a number to call in its own order", () => {
    const pieces = piecesOf("اتصل 555-0112 أو +47 22 33 44 55.");
    expect(pieces.filter((p) => p.number).map((p) => p.text)).toEqual(["555-0112", "+47 22 33 44 55"]);
    expect(pieces.map((p) => p.text).join("")).toBe("اتصل 555-0112 أو +47 22 33 44 55.");
    expect(piecesOf("No number.")).toEqual([{ text: "No number.", number: false }]);
    expect(cardText(CARD, CARD.lines, "ar", "C")).toContain("\u2066555-0112\u2069");
    expect(cardText(CARD, CARD.lines, "en", "C")).toBe("After\n\n• Yellow.\n• Light.\n\nCall 555-0112.\n\nC");
  });
});
