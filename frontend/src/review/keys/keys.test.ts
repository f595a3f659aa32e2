import { describe, expect, it } from "vitest";
import { actOf, nextRow, type Place, type Press } from "./keys";

const press = (key: string, more: Partial<Press> = {}): Press => ({
  key,
  ctrlKey: false,
  metaKey: false,
  altKey: false,
  defaultPrevented: false,
  ...more,
});
const place = (more: Partial<Place> = {}): Place => ({
  tag: "BODY",
  editable: false,
  row: false,
  dialog: false,
  ...more,
});

describe("single keys", () => {
  it.each([
    ["j", "down"],
    ["k", "up"],
    ["/", "search"],
    ["?", "help"],
    ["x", null],
  ])("%s means %s", (key, act) => expect(actOf(press(key), place(), true)).toBe(act));

  it.each(["INPUT", "SELECT", "TEXTAREA"])("are never taken from %s", (tag) => {
    for (const key of ["j", "k", "/", "?", "ArrowDown"]) {
      expect(actOf(press(key), place({ tag }), true)).toBeNull();
    }
  });

  it("leave alone what is written, what lies over the page, and what others use", () => {
    expect(actOf(press("j"), place({ editable: true }), true)).toBeNull();
    expect(actOf(press("j"), place({ dialog: true }), true)).toBeNull();
    expect(actOf(press("j", { ctrlKey: true }), place(), true)).toBeNull();
    expect(actOf(press("/", { metaKey: true }), place(), true)).toBeNull();
    expect(actOf(press("j", { defaultPrevented: true }), place(), true)).toBeNull();
    expect(actOf(press("j", { isComposing: true }), place(), true)).toBeNull();
  });

  it("can be turned off; arrows on a row are no single keys and stay", () => {
    expect(actOf(press("j"), place(), false)).toBeNull();
    expect(actOf(press("ArrowDown"), place({ row: true }), false)).toBe("down");
    expect(actOf(press("ArrowDown"), place(), true)).toBeNull(); // it scrolls
  });

  it("stop at the ends", () => {
    expect(nextRow(-1, "down", 3)).toBe(0);
    expect(nextRow(-1, "up", 3)).toBe(2);
    expect(nextRow(2, "down", 3)).toBe(2);
    expect(nextRow(0, "up", 3)).toBe(0);
    expect(nextRow(-1, "down", 0)).toBe(-1);
  });
});
