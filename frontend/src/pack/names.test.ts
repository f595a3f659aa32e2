import { describe, expect, it } from "vitest";
import type { Pack } from "../types.gen";
import { planName, protocolName, windowName } from "./names";

const PACK = {
  protocols: [{ id: "two_eyes", name: "Both eyes", windows: [{ id: "late", name: "Late frames" }] }],
  pattern_names: [{ id: "ring_of_four", name: "Ring of four" }],
  regions: [{ id: "posterior_pole", name: "Posterior pole" }],
} as unknown as Pack;

describe("what the log knows by an id", () => {
  it("has the pack's own name", () => {
    expect(protocolName(PACK, "two_eyes")).toBe("Both eyes");
    expect(windowName(PACK, "two_eyes", "late")).toBe("Late frames");
    expect(planName(PACK, "ring_of_four:posterior_pole")).toBe("Ring of four, posterior pole");
    expect(planName(PACK, "plan:posterior_pole")).toBe("Fewest fields, posterior pole");
    expect(planName(PACK, "sweep")).toBe("Sweep");
  });

  it("is made readable where a pack has no name for it, or where there is no pack", () => {
    expect(windowName(PACK, "two_eyes", "very_late")).toBe("Very late");
    expect(protocolName(null, "one_eye")).toBe("One eye");
    expect(planName(null, "grid_3x3:far_periphery")).toBe("Grid 3x3, far periphery");
  });
});
