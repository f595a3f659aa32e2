import { describe, expect, it } from "vitest";
import type { CaseState } from "../../log";
import type { PoseFound } from "../../types.gen";
import { lastTimeWords } from "./lastTime";

const found = (change: Partial<PoseFound>) => ({
  line: "l",
  at: 1,
  device: "d",
  body: {
    eye: "right",
    optic: "narrow",
    gaze_deg: [0, 0],
    outcome: "more",
    by_deg: 4,
    touched: false,
    salt: "",
    ...change,
  } as PoseFound,
});
const of = (...list: ReturnType<typeof found>[]): Pick<CaseState, "found"> => ({ found: list });

describe("what the last try taught", () => {
  it("says by how much more was needed, and for which gaze", () => {
    expect(lastTimeWords(of(found({})), "right", "narrow")).toBe(
      "Last time 4° more turn was needed (eye straight into the optic).",
    );
    expect(
      lastTimeWords(of(found({ gaze_deg: [15, 0], outcome: "less", by_deg: 2 })), "right", "narrow"),
    ).toBe("Last time 2° less turn was enough (eye 15° to the patient's left of the optic).");
  });
  it("is of the same eye and optic only", () => {
    expect(lastTimeWords(of(found({})), "left", "narrow")).toBeNull();
    expect(lastTimeWords(of(found({})), "right", "wide")).toBeNull();
  });
  it("is silent once the advice was used unchanged", () => {
    const list = of(found({}), found({ outcome: "as_advised", by_deg: null }));
    expect(lastTimeWords(list, "right", "narrow")).toBeNull();
  });
  it("says that it touched, and that it was not reached", () => {
    const words = lastTimeWords(
      of(found({ outcome: "not_reached", by_deg: null, touched: true })),
      "right",
      "narrow",
    );
    expect(words).toBe("Last time the position was not reached (eye straight into the optic). It touched.");
  });
});
