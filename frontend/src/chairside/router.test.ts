import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { formatRoute, OVERLAYS, type Place, parseRoute } from "./router";

describe("addresses", () => {
  it("leads home from nothing and from nonsense", () => {
    expect(parseRoute("").page).toBe("home");
    expect(parseRoute("#/").page).toBe("home");
    expect(parseRoute("#/nowhere/at/all").page).toBe("home");
    expect(parseRoute("#/case").page).toBe("home");
    expect(parseRoute("#/case/%E0%A4%A").page).toBe("case");
  });
  it("takes an enrolment code as the QR code carries it", () => {
    expect(parseRoute("#enrol=7K3M-Q9ZD")).toEqual({ page: "enrol", code: "7K3M-Q9ZD", over: null });
  });
  it("opens a case at its steps when no screen is named", () => {
    expect(parseRoute("#/case/c1")).toEqual({ page: "case", id: "c1", screen: "step", tail: [], over: null });
  });
  it("forgets an overlay that it does not know", () => {
    expect(parseRoute("#/case/c1/step?over=weather").over).toBeNull();
  });
  it("comes back to the same place for every case, screen, tail and overlay", () => {
    const part = fc.string({ minLength: 1, maxLength: 12 });
    const place: fc.Arbitrary<Place> = fc.oneof(
      fc.constantFrom<Place>({ page: "home" }, { page: "new" }, { page: "settings" }, { page: "unsent" }),
      fc.record({
        page: fc.constant("case" as const),
        id: part,
        screen: part,
        tail: fc.array(part, { maxLength: 3 }),
      }),
      fc.record({
        page: fc.constantFrom("light" as const, "card" as const),
        tail: fc.array(part, { maxLength: 2 }),
      }),
    );
    fc.assert(
      fc.property(place, fc.constantFrom(null, ...OVERLAYS), (to, over) => {
        expect(parseRoute(formatRoute({ ...to, over }))).toEqual({ ...to, over });
      }),
    );
  });
});
