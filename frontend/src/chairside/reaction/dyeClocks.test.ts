import { describe, expect, it } from "vitest";
import type { Pack } from "../../types.gen";
import { modalityOf } from "./dyeClocks";

describe("what a dye is for", () => {
  it("is said by the pack, whatever it calls the dye; its id only where the pack does not know it", () => {
    const pack = { dyes: [{ id: "green", modality: "indocyanine_green" }] } as unknown as Pack;
    expect(modalityOf(pack, "green")).toBe("indocyanine_green");
    expect(modalityOf(pack, "indocyanine_green")).toBe("indocyanine_green");
    expect(modalityOf(null, "green")).toBe("green");
  });
});
