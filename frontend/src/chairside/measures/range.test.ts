import { expect, test } from "vitest";
import { checkNumber } from "./range";

const range = { low: 50, high: 77, why: "Adults only." };

test("a measure outside the range is refused with the range and the reason", () => {
  expect(checkNumber("63", range, "mm")).toEqual({ ok: true, value: 63 });
  expect(checkNumber("63,5", range, "mm")).toEqual({ ok: true, value: 63.5 });
  expect(checkNumber("50", range, "mm")).toEqual({ ok: true, value: 50 });
  expect(checkNumber("44", range, "mm")).toEqual({ ok: false, why: "44 mm is outside 50 to 77 mm. Adults only." });
  expect(checkNumber("", range, "mm")).toEqual({ ok: false, why: "Enter a number from 50 to 77 mm." });
  expect(checkNumber("6.3.1", range, "mm")).toEqual({ ok: false, why: '"6.3.1" is not a number.' });
});
