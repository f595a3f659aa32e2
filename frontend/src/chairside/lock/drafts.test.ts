import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { HiddenDrafts } from "./drafts";

/** A store as a browser has it: what it keeps are its own keys. */
class Store {
  [key: string]: unknown;
}
Object.defineProperties(Store.prototype, {
  getItem: {
    value(this: Store, key: string) {
      return this[key] ?? null;
    },
  },
  setItem: {
    value(this: Store, key: string, text: string) {
      this[key] = text;
    },
  },
  removeItem: {
    value(this: Store, key: string) {
      delete this[key];
    },
  },
});

/** Stands for the data key: what is hidden is turned round. */
class FakeLock {
  open = true;
  hidden = (text: string) => Promise.resolve(this.open ? [...text].reverse().join("") : null);
  shown = (text: string) => Promise.resolve(this.open ? [...text].reverse().join("") : null);
}

let kept: Store;
beforeEach(() => {
  kept = new Store();
  vi.stubGlobal("localStorage", kept);
});
afterEach(() => vi.unstubAllGlobals());

const stored = () =>
  Object.entries(kept)
    .map(([key, text]) => `${key} ${String(text)}`)
    .join("\n");

describe("drafts of a phone with PINs", () => {
  it("stand in the clear no longer, neither text nor key, and come back after the unlock", async () => {
    kept["chinrest-draft:comfort/c1"] = '{"note":"sat back"}';
    kept["chinrest-look"] = "{}";
    const lock = new FakeLock();
    const drafts = new HiddenDrafts(lock);
    expect(stored()).toBe("chinrest-look {}");
    drafts.write("screening/c1/allergy", "half");
    await drafts.flush();
    expect(Object.keys(kept)).toHaveLength(3);
    expect(stored()).not.toMatch(/comfort|sat back|screening|allergy|half/);

    lock.open = false;
    const again = new HiddenDrafts(lock);
    await again.open();
    expect(again.keys()).toEqual([]);
    again.write("emergency/c1", "typed while it was locked");
    await again.flush();
    expect(Object.keys(kept)).toHaveLength(3);
    lock.open = true;
    await again.open();
    await again.flush();
    expect(again.read("comfort/c1")).toBe('{"note":"sat back"}');
    expect(again.read("screening/c1/allergy")).toBe("half");
    expect(again.read("emergency/c1")).toBe("typed while it was locked");
    expect(Object.keys(kept)).toHaveLength(4);
  });

  it("keeps the newest text under one name, and what was dropped is gone", async () => {
    const drafts = new HiddenDrafts(new FakeLock());
    for (const text of ["a", "ab", "abc"]) drafts.write("new-case", text);
    await drafts.flush();
    drafts.write("new-case", "abcd");
    drafts.write("event/c1", "x");
    drafts.drop("event/c1");
    await drafts.flush();
    expect(Object.keys(kept)).toHaveLength(1);
    expect(stored()).toContain("dcba");
    expect(drafts.keys()).toEqual(["new-case"]);
  });

  it("a draft that two tabs kept is the later one", async () => {
    const lock = new FakeLock();
    const [one, other] = [new HiddenDrafts(lock), new HiddenDrafts(lock)];
    vi.useFakeTimers({ now: 2_000, toFake: ["Date"] });
    one.write("event/c1", "later");
    await one.flush();
    vi.setSystemTime(1_000);
    other.write("event/c1", "earlier");
    await other.flush();
    vi.useRealTimers();
    const third = new HiddenDrafts(lock);
    await third.open();
    expect(third.read("event/c1")).toBe("later");
  });
});
