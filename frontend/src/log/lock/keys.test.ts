import { describe, expect, it } from "vitest";
import { base64, hex } from "../bytes";
import {
  type LockKeys,
  newKeys,
  newPerson,
  type Opened,
  openedByServer,
  personOf,
  unlocked,
  withoutPeople,
  withPerson,
  withTries,
} from "./keys";
import { begun, NO_TRIES } from "./tries";
import { textOf } from "./wrap";

const FEW = 10;
const DEVICE = "0b0f3a52-8d38-4c1e-9a77-1f1f2e3d4c5b";

async function serversKey(): Promise<string> {
  const pair = await crypto.subtle.generateKey({ name: "ECDH", namedCurve: "P-256" }, true, ["deriveBits"]);
  return base64(new Uint8Array(await crypto.subtle.exportKey("spki", pair.publicKey)));
}

async function locked() {
  return newKeys(DEVICE, await serversKey(), "AB", "246813", FEW);
}

async function joinedBy(keys: LockKeys, opened: Opened, name: string, pin: string): Promise<LockKeys> {
  return withPerson(keys, await newPerson(keys, opened, name, pin, FEW));
}

async function sameKey(a: LockKeys, name: string, pin: string): Promise<string | null> {
  const opened = await unlocked(a, name, pin);
  return opened && textOf(opened.dataKey);
}

describe("each person's PIN gives the same data key", () => {
  it("however the name is typed, and with no other PIN or name", async () => {
    const { keys, opened } = await locked();
    const key = await textOf(opened.dataKey);
    expect(await sameKey(keys, " ab ", " 246813")).toBe(key);
    expect(await sameKey(keys, "AB", "246814")).toBeNull();
    expect(await sameKey(keys, "CD", "246813")).toBeNull();
  });

  it("added, changed and taken away one by one", async () => {
    const { keys, opened } = await locked();
    const key = await textOf(opened.dataKey);
    const two = await joinedBy(keys, opened, "CD", "a long passphrase");
    expect(await sameKey(two, "CD", "a long passphrase")).toBe(key);
    expect(await sameKey(two, "AB", "246813")).toBe(key);
    const changed = await joinedBy(two, opened, "ab", "975310");
    expect(changed.people).toHaveLength(2);
    expect(await sameKey(changed, "AB", "975310")).toBe(key);
    expect(await sameKey(changed, "AB", "246813")).toBeNull();
    const one = withoutPeople(changed, ["ab", "nobody"]);
    expect(await sameKey(one, "AB", "975310")).toBeNull();
    expect(await sameKey(one, "CD", "a long passphrase")).toBe(key);
  });

  it("a wrap that is put in another's place opens nothing", async () => {
    const { keys, opened } = await locked();
    const two = await joinedBy(keys, opened, "CD", "975310");
    const [ab, cd] = [personOf(two, "AB"), personOf(two, "CD")];
    if (!ab || !cd) throw new Error("both are there");
    const swapped = { ...two, people: [{ ...ab, wrap: cd.wrap }, cd] };
    expect(await unlocked(swapped, "AB", "975310")).toBeNull();
    expect(await unlocked({ ...two, device: "another" }, "AB", "246813")).toBeNull();
  });
});

it("nothing that is stored holds a key in the clear", async () => {
  const { keys, opened } = await locked();
  const raw = new Uint8Array(await crypto.subtle.exportKey("raw", opened.dataKey));
  const stored = JSON.stringify(keys);
  expect(stored).not.toContain(base64(raw).slice(0, 12));
  expect(stored).not.toContain(hex(raw).slice(0, 12));
  expect(stored).not.toContain("246813");
  expect(opened.pair.privateKey.extractable).toBe(false);
});

describe("by the server", () => {
  it("what the escrow held opens the phone with no PIN, even where nobody is left", async () => {
    const { keys, opened } = await locked();
    const given = await textOf(opened.dataKey);
    const nobody = withoutPeople(keys, ["AB"]);
    const back = await openedByServer(nobody, given);
    if (!back) throw new Error("it opens");
    const again = await joinedBy(nobody, back, "EF", "864209");
    expect(await sameKey(again, "EF", "864209")).toBe(given);
  });

  it("what is another phone's key, or none, opens nothing", async () => {
    const [{ keys }, other] = [await locked(), await locked()];
    expect(await openedByServer(keys, await textOf(other.opened.dataKey))).toBeNull();
    for (const text of ["", "AAAA", "not base64!"]) expect(await openedByServer(keys, text)).toBeNull();
  });
});

it("tries are each person's own, and over with a new PIN", async () => {
  const { keys, opened } = await locked();
  const two = await joinedBy(keys, opened, "CD", "975310");
  const tried = withTries(two, "ab", begun(NO_TRIES, 5));
  expect(tried.people.map(({ name, tries }) => [name, tries.wrong])).toEqual([
    ["AB", 1],
    ["CD", 0],
  ]);
  const renewed = await joinedBy(tried, opened, "AB", "864209");
  expect(personOf(renewed, "AB")?.tries).toEqual(NO_TRIES);
});
