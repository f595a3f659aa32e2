import { describe, expect, it } from "vitest";
import { codeLooksLikePerson, looksLikePerson } from "./names";

// All persons here are made up.
describe("looksLikePerson", () => {
  it.each([
    "Mrs Brook felt unwell",
    "spoke with dr. okafor",
    "Ada Brook",
    "Brook, Ada",
    "told Jean-Luc O’Hara about it",
    "born 1951",
    "seen 03/04/1951",
    "1951-04-03",
    "call 0555 123 4567",
    "ada@example.org",
    "Łucja Żak",
  ])("warns about %s", (text) => expect(looksLikePerson(text)).not.toBeNull());

  it.each([
    "",
    "Right eye drifts, drops given twice",
    "Lid held by the nurse. Patient asked for a pause.",
    "Optic mark did not meet the notch",
    "Turned 14 degrees, still close at the bridge",
    "ICG after FA",
    "Fluorescein first. Indocyanine later",
  ])("lets pass: %s", (text) => expect(looksLikePerson(text)).toBeNull());
});

describe("codeLooksLikePerson", () => {
  it.each(["Brook", "ada brook", "Brook-2", "MEYER"])("warns about %s", (code) =>
    expect(codeLooksLikePerson(code)).not.toBeNull(),
  );
  it.each(["RET-0412", "A17", "2026/118", "HR-118-B", "k9f2"])("lets pass: %s", (code) =>
    expect(codeLooksLikePerson(code)).toBeNull(),
  );
});
