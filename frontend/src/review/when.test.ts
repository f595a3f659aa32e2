import { describe, expect, it } from "vitest";
import { ago, gap, offsetWords, span } from "./when";

describe("spans in words", () => {
  it.each([
    [999, "less than a second"],
    [1_000, "1 second"],
    [61_000, "1 minute 1 second"],
    [3_600_000, "1 hour"],
    [90_061_000, "1 day 1 hour"],
    [86_405_000, "1 day"],
  ])("%i ms", (ms, words) => expect(span(ms)).toBe(words));

  it("says which way a clock is off", () => {
    expect(offsetWords(125_000)).toBe("clock 2 minutes 5 seconds ahead of the server");
    expect(offsetWords(-3_600_000)).toBe("clock 1 hour behind the server");
    expect(offsetWords(900)).toBe("clock agrees with the server");
    expect(offsetWords(null)).toBe("clock not compared yet");
  });

  it("says when a clock went back instead of a negative span", () => {
    expect(gap(200_000, 100_000)).toBe("clock went back by 1 minute 40 seconds");
    expect(gap(null, 5)).toBe("");
    expect(gap(0, 59_000)).toBe("");
  });

  it("is modest about the present", () => expect(ago(1_000, 30_000)).toBe("just now"));
});
