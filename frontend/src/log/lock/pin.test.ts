import { describe, expect, it } from "vitest";
import { nameFault, nameKey, pinFault, tidyPin } from "./pin";

describe("a PIN", () => {
  it.each(["246813", "902177", "one cold cup", "112233", "1 2 3 4", "\u6f22\u5b57\u6f22\u5b57\u6f22\u5b57x"])(
    "may be %s",
    (pin) => expect(pinFault(pin, "AB")).toBeNull(),
  );

  it.each(["", "12345", "24681", "000000", "123456", "876543", "abcdef", "  1357 ", "x".repeat(129)])(
    "may not be '%s'",
    (pin) => expect(pinFault(pin, "AB")).not.toBeNull(),
  );

  it("may not be the name", () => {
    expect(pinFault("Ren\u00e9 Ott", "rene\u0301 ott")).not.toBeNull();
    expect(pinFault("Ren\u00e9 Ott!", "rene\u0301 ott")).toBeNull();
  });

  it("counts characters as people do, not halves of them", () => {
    expect(pinFault("\u{1f441}\u{1f442}\u{1f445}\u{1f440}\u{1f446}", "AB")).toContain("Too short");
  });

  it("is the same from every keyboard", () => {
    expect(tidyPin(" \uff12\uff14\uff16\uff18\uff11\uff13 ")).toBe("246813"); // full-width digits
    expect(tidyPin("cafe\u0301s")).toBe(tidyPin("caf\u00e9s"));
  });
});

describe("a name", () => {
  it.each([
    ["AB", " ab "],
    ["Caf\u00e9", "CAFE\u0301"],
    ["Stra\u00dfe", "STRASSE"],
    ["\u0391\u03a3", "\u03b1\u03c2"],
  ])("%s and %s are one person's", (a, b) => expect(nameKey(a)).toBe(nameKey(b)));

  it("others are not", () => expect(nameKey("AB")).not.toBe(nameKey("AC")));

  it.each(["", "   ", "two\nlines", "x".repeat(41), "nul\u0000"])("can't be %j", (name) =>
    expect(nameFault(name)).not.toBeNull(),
  );

  it("can be anything else", () => {
    for (const name of ["AB", "4711", "Ren\u00e9 Ott", "\u6f22"]) expect(nameFault(name)).toBeNull();
  });
});
