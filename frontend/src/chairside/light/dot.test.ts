import { describe, expect, it } from "vitest";
import { blinkSeconds, firstDot, MOST_BLINKS_PER_S, RATES, type RateId } from "./dot";

describe("the outside light", () => {
  it("never blinks more often than three times a second (WCAG 2.2, 2.3.1, from memory)", () => {
    expect(MOST_BLINKS_PER_S).toBe(3);
    for (const { id } of RATES) {
      const seconds = blinkSeconds(id, false);
      if (seconds !== null) expect(1 / seconds).toBeLessThanOrEqual(3);
    }
    expect(RATES.filter((r) => blinkSeconds(r.id, false) !== null)).toHaveLength(3);
  });
  it("is steady for whom flashing light can harm, whatever was chosen", () => {
    for (const { id } of RATES) expect(blinkSeconds(id, true)).toBeNull();
  });
  it("is steady where the rate is unknown", () => {
    expect(blinkSeconds("stroboscope" as RateId, false)).toBeNull();
  });
  it("begins steady where less motion is asked for", () => {
    expect(firstDot(true).rate).toBe("steady");
    expect(blinkSeconds(firstDot(false).rate, false)).toBe(1);
  });
});
