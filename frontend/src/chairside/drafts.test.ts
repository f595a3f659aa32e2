import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { NEW_CASE, tidyDrafts } from "./drafts";

/** A store as a browser has it: what it keeps are its own keys. */
function store(kept: Record<string, string>): Record<string, string> {
  return Object.defineProperty({ ...kept }, "removeItem", {
    value(this: Record<string, string>, key: string) {
      delete this[key];
    },
  });
}

let kept: Record<string, string>;
beforeEach(() => {
  kept = store({
    "chinrest-draft:comfort/here": "{}",
    "chinrest-draft:here:face:right": "{}",
    "chinrest-draft:event/gone": "{}",
    "chinrest-draft:gone:pupil:left": "{}",
    [`chinrest-draft:${NEW_CASE}`]: "{}",
    "chinrest-look": "{}",
  });
  vi.stubGlobal("localStorage", kept);
});
afterEach(() => vi.unstubAllGlobals());

it("forgets what was half entered for a case that has left the phone, and nothing else", () => {
  tidyDrafts(["here"]);
  expect(Object.keys(kept)).toEqual([
    "chinrest-draft:comfort/here",
    "chinrest-draft:here:face:right",
    `chinrest-draft:${NEW_CASE}`,
    "chinrest-look",
  ]);
});
