import { describe, expect, it } from "vitest";
import { hex, utf8 } from "../bytes";
import { bitsOf, dataKeyOf, newDataKey, ROUNDS, textOf, unwrapped, wrapped } from "./wrap";

const FEW = 10;

describe("PBKDF2-HMAC-SHA-256 gives the values of RFC 7914, section 11 (their first 32 bytes)", () => {
  it.each([
    ["passwd", "salt", 1, "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"],
    ["Password", "NaCl", 80_000, "4ddcd8f60b98be21830cee5ef22701f9641a4418d04c0414aeff08876b34ab56"],
  ])("%s, %s, %i rounds", async (pin, salt, rounds, bits) => {
    expect(hex(new Uint8Array(await bitsOf(pin, utf8(salt), rounds)))).toBe(bits);
  });
});

it("the rounds are what the Password Storage Cheat Sheet asks for, and stand in the wrap", async () => {
  expect(ROUNDS).toBeGreaterThanOrEqual(600_000);
  expect((await wrapped(await newDataKey(), "246813", "p")).rounds).toBe(ROUNDS);
});

it("only the same PIN and the same owner give the key back", async () => {
  const key = await newDataKey();
  const wrap = await wrapped(key, "246813", "phone\nab", FEW);
  const back = await unwrapped(wrap, "246813", "phone\nab");
  expect(back && (await textOf(back))).toBe(await textOf(key));
  expect(await unwrapped(wrap, "246814", "phone\nab")).toBeNull();
  expect(await unwrapped(wrap, "", "phone\nab")).toBeNull();
  expect(await unwrapped(wrap, "246813", "phone\ncd")).toBeNull();
  expect(await unwrapped({ ...wrap, rounds: FEW + 1 }, "246813", "phone\nab")).toBeNull();
});

it("a changed wrap gives nothing", async () => {
  const wrap = await wrapped(await newDataKey(), "246813", "p", FEW);
  const other = await wrapped(await newDataKey(), "246813", "p", FEW);
  for (const part of ["salt", "iv", "key"] as const) {
    expect(await unwrapped({ ...wrap, [part]: other[part] }, "246813", "p")).toBeNull();
  }
  expect(await unwrapped({ ...wrap, key: "" }, "246813", "p")).toBeNull();
});

it("no two wraps of one key and PIN are alike, and none holds the key", async () => {
  const key = await newDataKey();
  const [a, b] = [await wrapped(key, "246813", "p", FEW), await wrapped(key, "246813", "p", FEW)];
  for (const part of ["salt", "iv", "key"] as const) expect(a[part]).not.toBe(b[part]);
  expect(JSON.stringify([a, b])).not.toContain((await textOf(key)).slice(0, 20));
});

it("a key comes out of its text as it went in, and nothing else is one", async () => {
  const text = await textOf(await newDataKey());
  expect(await textOf(await dataKeyOf(text))).toBe(text);
  expect(atob(text)).toHaveLength(32);
  for (const bad of ["", "AAAA", "not base64!"]) await expect(dataKeyOf(bad)).rejects.toThrow();
});
