import { describe, expect, it } from "vitest";
import { clockText, SERIES_TELL } from "./series";

describe("the series in words", () => {
  it("shows seconds as a clock does", () => {
    expect([0, 7.9, 65, 600, 3723, -5].map(clockText)).toEqual([
      "0:00",
      "0:07",
      "1:05",
      "10:00",
      "1:02:03",
      "−0:05",
    ]);
  });

  it("tells both readings of a clock in doubt, and what was agreed", () => {
    const body = { salt: "", dye: "fluorescein", wall_s: 3741, mono_s: 139, agreed_s: null, by: "" };
    expect(SERIES_TELL["clock.uncertain"](body, null).detail).toBe(
      "fluorescein · 1:02:21 by the time of day · at least 2:19 as counted · not agreed yet",
    );
    const agreed = SERIES_TELL["clock.uncertain"]({ ...body, agreed_s: 165, by: "nurse" }, null);
    expect(agreed.detail).toContain("agreed: 2:45 (nurse)");
  });

  it("counts the frames of a burst that are of no use", () => {
    const body = { salt: "", burst: "b", shots: 33, bad: [3, 12] };
    expect(SERIES_TELL["series.looked"](body, null).detail).toBe("33 frames · of no use: 3, 12");
  });
});
