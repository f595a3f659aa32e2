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
  it.each(["٦", "６.5", "६", "6.٥"])(
    "refuses the digits of other scripts, %s, and says which are asked",
    (text) => {
      expect(readNumber(text, PUPIL)).toEqual({
        value: null,
        fault: `“${text}” is not a number. Enter 2 to 10 mm, with the digits 0 to 9.`,
      });
    },
  );
  it("rounds nothing in silence: what has more digits than are asked for is asked for again", () => {
    expect(readNumber("6.55", PUPIL)).toEqual({
      value: null,
      fault: "6.55 has more digits than are asked for: at most 1 after the point.",
    });
    expect(readNumber("89.6", WHOLE)).toEqual({
      value: null,
      fault: "89.6 is not a whole number. Enter a whole number from 0 to 90 minutes.",
    });
    expect(readNumber("6.50", PUPIL).value).toBe(6.5); // nothing is lost
    expect(readNumber("89.", WHOLE).value).toBe(89);
  });
  it("asks again where a comma may part thousands", () => {
    expect(readNumber("1,000", { ...PUPIL, least: 0, most: 9999 }).fault).toContain("in two ways");
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
