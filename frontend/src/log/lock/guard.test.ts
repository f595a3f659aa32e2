import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it, vi } from "vitest";
import { base64 } from "../bytes";
import { Database } from "../db";
import { Guard } from "./guard";
import { newKeys, type Opened } from "./keys";
import { MOST, waitMs } from "./tries";
import { textOf } from "./wrap";

const FEW = 10;
const DEVICE = "0b0f3a52-8d38-4c1e-9a77-1f1f2e3d4c5b";
let phones = 0;

let now: number;
let database: Database;
let guard: Guard;
let opened: Opened;

beforeEach(async () => {
  now = 1_790_000_000_000;
  database = new Database(() => undefined, `guard-${phones++}`);
  guard = new Guard({ now: () => now }, database, FEW);
  const pair = await crypto.subtle.generateKey({ name: "ECDH", namedCurve: "P-256" }, true, ["deriveBits"]);
  const server = base64(new Uint8Array(await crypto.subtle.exportKey("spki", pair.publicKey)));
  const made = await newKeys(DEVICE, server, "AB", "246813", FEW);
  opened = made.opened;
  await database.run((db) => db.put("meta", made.keys, "lock"));
});

async function wrong(count: number, name = "AB"): Promise<void> {
  for (let n = 0; n < count; n++) {
    const said = await guard.unlock(name, "000000");
    if (said.ok) throw new Error("it was wrong");
    if ("ms" in said) now += said.ms;
  }
}

describe("unlocking", () => {
  it("gives the data key for the right PIN, and says whose it was", async () => {
    const said = await guard.unlock(" ab", "246813");
    if (!said.ok) throw new Error(said.why);
    expect(said.name).toBe("AB");
    expect(await textOf(said.opened.dataKey)).toBe(await textOf(opened.dataKey));
  });

  it("says how many tries are left, then how long to wait, then that only the server helps", async () => {
    expect(await guard.unlock("AB", "1")).toEqual({ ok: false, why: "wrong", left: MOST - 1, ms: 0 });
    await guard.unlock("AB", "1");
    expect(await guard.unlock("AB", "1")).toEqual({ ok: false, why: "wrong", left: 7, ms: waitMs(3) });
    now += 1000;
    // not even the right one is looked at, and the look counts for nothing
    for (let n = 0; n < 20; n++) {
      expect(await guard.unlock("AB", "246813")).toEqual({ ok: false, why: "wait", ms: waitMs(3) - 1000 });
    }
    now += waitMs(3);
    await wrong(MOST - 4);
    expect(await guard.unlock("AB", "1")).toEqual({ ok: false, why: "server" });
    now += 30 * 86_400_000;
    expect(await guard.unlock("AB", "246813")).toEqual({ ok: false, why: "server" });
  });

  it("a right one ends the count", async () => {
    await wrong(2);
    expect((await guard.unlock("AB", "246813")).ok).toBe(true);
    expect(await guard.unlock("AB", "1")).toEqual({ ok: false, why: "wrong", left: MOST - 1, ms: 0 });
  });

  it("a try is written down before the PIN is looked at, so that a page closed in time has made it", async () => {
    const derive = vi.spyOn(crypto.subtle, "deriveBits");
    const counted: Promise<number | undefined>[] = [];
    derive.mockImplementationOnce(async () => {
      counted.push(guard.keys().then((keys) => keys?.people[0]?.tries.wrong));
      await counted[0];
      throw new Error("the page is closed");
    });
    await expect(guard.unlock("AB", "246813")).rejects.toThrow("closed");
    derive.mockRestore();
    expect(await Promise.all(counted)).toEqual([1]);
    expect((await guard.keys())?.people[0]?.tries.wrong).toBe(1);
  });

  it("one person's wrong tries shut nobody else out", async () => {
    expect(await guard.setPin(opened, "CD", "975310")).toEqual({ ok: true });
    await wrong(MOST);
    expect(await guard.unlock("AB", "246813")).toEqual({ ok: false, why: "server" });
    expect((await guard.unlock("CD", "975310")).ok).toBe(true);
    expect(await guard.unlock("AB", "246813")).toEqual({ ok: false, why: "server" });
  });

  it("a count outlives the page", async () => {
    await wrong(MOST);
    const again = new Guard({ now: () => now }, database);
    expect(await again.unlock("AB", "246813")).toEqual({ ok: false, why: "server" });
  });

  it("who has no PIN here is told so, and nothing is written", async () => {
    const before = await guard.keys();
    expect(await guard.unlock("EF", "246813")).toEqual({ ok: false, why: "nobody" });
    expect(await guard.keys()).toEqual(before);
  });
});

describe("people", () => {
  it("a PIN that is too easy, or a name that is none, is refused in words", async () => {
    const before = await guard.keys();
    for (const [name, pin] of [
      ["CD", "123456"],
      ["CD", "97"],
      ["", "975310"],
    ] as const) {
      const said = await guard.setPin(opened, name, pin);
      expect(said.ok ? "" : said.why).toMatch(/\w/);
    }
    expect(await guard.keys()).toEqual(before);
  });

  it("withdrawn, their PINs open nothing; the others' do", async () => {
    await guard.setPin(opened, "CD", "975310");
    await guard.remove(["ab", "nobody"]);
    expect(await guard.unlock("AB", "246813")).toEqual({ ok: false, why: "nobody" });
    expect((await guard.unlock("CD", "975310")).ok).toBe(true);
  });

  it("two PINs set at once both stand", async () => {
    const said = await Promise.all([
      guard.setPin(opened, "CD", "975310"),
      guard.setPin(opened, "EF", "864209"),
    ]);
    expect(said).toEqual([{ ok: true }, { ok: true }]);
    expect((await guard.keys())?.people.map(({ name }) => name).sort()).toEqual(["AB", "CD", "EF"]);
  });

  it("keys that were replaced meanwhile are not written over", async () => {
    const keys = await guard.keys();
    if (!keys) throw new Error("there are keys");
    const set = guard.setPin(opened, "CD", "975310");
    await database.run((db) => db.put("meta", { ...keys, publicKey: "another" }, "lock"));
    expect((await set).ok).toBe(false);
    expect((await guard.keys())?.people).toHaveLength(1);
  });
});

it("what the server gives back opens a phone that nobody can unlock, and a new PIN works at once", async () => {
  await wrong(MOST);
  const back = await guard.openByServer(await textOf(opened.dataKey));
  if (!back) throw new Error("it opens");
  expect(await guard.setPin(back, "AB", "864209")).toEqual({ ok: true });
  expect((await guard.unlock("AB", "864209")).ok).toBe(true);
  expect(await guard.openByServer("AAAA")).toBeNull();
});
