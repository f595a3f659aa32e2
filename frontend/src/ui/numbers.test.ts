import { describe, expect, it } from "vitest";
import { type NumberRule, pressKey, readNumber } from "./numbers";

const PUPIL: NumberRule = { unit: "mm", least: 2, most: 10, decimals: 1 };
const WHOLE: NumberRule = { unit: "minutes", least: 0, most: 90, decimals: 0 };

describe("readNumber", () => {
  it("takes both ends of the range and nothing beyond, and names the range", () => {
    expect(readNumber("2", PUPIL).value).toBe(2);
    expect(readNumber("10", PUPIL).value).toBe(10);
    expect(readNumber("10.1", PUPIL)).toEqual({
      value: null,
      fault: "10.1 is outside 2 to 10 mm. Measure again.",
    });
  });
  it("reads a comma as a point", () => expect(readNumber("6,5", PUPIL).value).toBe(6.5));
  it("refuses what is not a number, and an empty field", () => {
    expect(readNumber("6 mm", PUPIL).fault).toContain("not a number");
    expect(readNumber("1e1", PUPIL).fault).toContain("not a number");
    expect(readNumber("", PUPIL).value).toBeNull();
  });
});

describe("pressKey", () => {
  const type = (keys: string, rule: NumberRule) =>
    [...keys].reduce((text, key) => pressKey(text, key, rule), "");
  it("builds a number key by key", () => expect(type("6.5", PUPIL)).toBe("6.5"));
  it("stops at the digits the rule allows", () => {
    expect(type("6.55", PUPIL)).toBe("6.5");
    expect(type("123", PUPIL)).toBe("12");
    expect(type("1.2.3", PUPIL)).toBe("1.2");
    expect(type("4.", WHOLE)).toBe("4");
  });
  it("does not lead with a nought", () => expect(type("05", WHOLE)).toBe("5"));
  it("takes the last key back", () => expect(type("65⌫", WHOLE)).toBe("6"));
});
