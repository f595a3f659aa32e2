import { describe, expect, it } from "vitest";
import { together } from "./merging";
import { kindOf, type Schema, shownLines, typedLines, typedNumber, typedPair, withKey } from "./schema";

describe("two people's changes of one table", () => {
  const was = { id: "wide", field_deg: 56, mass_g: 420 };

  it("are joined where they are of different keys", () => {
    const both = together(was, { ...was, mass_g: 430 }, { ...was, field_deg: 55 });
    expect(both).toEqual({
      value: { id: "wide", field_deg: 55, mass_g: 430 },
      theirs: ["field_deg"],
      both: [],
    });
  });

  it("of the same key are told, and mine is kept in the form", () => {
    const both = together(was, { ...was, mass_g: 430 }, { ...was, mass_g: 410 });
    expect(both.both).toEqual(["mass_g"]);
    expect(both.value.mass_g).toBe(430);
  });

  it("that are the same are no conflict, and what both left out stays out", () => {
    const both = together(was, { id: "wide", field_deg: 56 }, { id: "wide", field_deg: 50 });
    expect(both).toEqual({ value: { id: "wide", field_deg: 50 }, theirs: ["field_deg"], both: [] });
  });
});

describe("what is typed", () => {
  it("is a number with the digits 0 to 9, and otherwise stays what it is", () => {
    expect(["4", "-0.5", " 12 ", ""].map(typedNumber)).toEqual([4, -0.5, 12, undefined]);
    expect(["4,5", "four", "1e3", "٤", "0x10"].map(typedNumber)).toEqual(["4,5", "four", "1e3", "٤", "0x10"]);
  });

  it("comes back as it was shown", () => {
    const profile = [
      [0, 26],
      [4, 30.8],
    ];
    expect(typedLines(shownLines(profile), "pair")).toEqual(profile);
    expect(typedLines("Push it home.\n\n Turn it. ", "text")).toEqual(["Push it home.", "Turn it."]);
    expect(typedPair("1, x")).toEqual([1, " x"]);
  });

  it("is left out of the table where it is nothing", () => {
    expect(withKey({ a: 1, b: 2 }, "a", undefined)).toEqual({ b: 2 });
    expect(Object.keys(withKey({ a: 1, b: 2 }, "a", 3))).toEqual(["a", "b"]);
  });
});

describe("a schema", () => {
  const root: Schema = { $defs: { Turn: { type: "object", properties: { yaw_deg: { type: "number" } } } } };
  it("says which field is needed, behind references and nothing", () => {
    expect(kindOf({ $ref: "#/$defs/Turn" }, root)).toBe("table");
    expect(kindOf({ anyOf: [{ type: "null" }, { type: "number" }] }, root)).toBe("number");
    expect(kindOf({ type: "array", items: { enum: ["colour"] } }, root)).toBe("choices");
    expect(kindOf({ type: "array", items: { type: "array", prefixItems: [{}, {}] } }, root)).toBe("lines");
  });
});
