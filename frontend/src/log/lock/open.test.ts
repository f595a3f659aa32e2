import { expect, it } from "vitest";
import { base64, hex, utf8 } from "../bytes";
import { seal } from "../carry/hpke";
import { unseal } from "./open";

const CURVE = { name: "ECDH", namedCurve: "P-256" };
const bytes = (text: string) =>
  Uint8Array.from({ length: text.length / 2 }, (_, n) => Number.parseInt(text.slice(2 * n, 2 * n + 2), 16));
const base64url = (text: string) =>
  base64(bytes(text)).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

// RFC 9180, appendix A.3.1: the reader's pair, and what the sender sealed first
const SECRET = "f3ce7fdae57e1a310d87f1ebbde6f328be0a99cdbcadf4d6589cf29de4b8ffd2";
const POINT =
  "04fe8c19ce0905191ebc298a9245792531f26f0cece2460639e8bc39cb7f706a826a779b4cf969b8a0e539c7f62fb3d30ad6aa8f80e30f1d128aafd68a2ce72ea0";
const ENC =
  "04a92719c6195d5085104f469a8b9814d5838ff72b60501e2c4466e5e67b325ac98536d7b61a1af4b78e5b7f951c0900be863c403ce65c9bfcb9382657222d18c4";
const CIPHERTEXT =
  "5ad590bb8baa577f8619db35a36311226a896e7342a6d836d8b7bcd2f20b6c7f9076ac232e3ab2523f39513434";
const INFO = bytes("4f6465206f6e2061204772656369616e2055726e");
const TEXT = "4265617574792069732074727574682c20747275746820626561757479";

async function reader(): Promise<CryptoKeyPair> {
  const [x, y] = [POINT.slice(2, 66), POINT.slice(66)].map(base64url);
  const jwk: JsonWebKey = { kty: "EC", crv: "P-256", x: x ?? "", y: y ?? "" };
  return {
    privateKey: await crypto.subtle.importKey("jwk", { ...jwk, d: base64url(SECRET) }, CURVE, false, [
      "deriveBits",
    ]),
    publicKey: await crypto.subtle.importKey("jwk", jwk, CURVE, true, []),
  };
}

it("the RFC's own sealed text is opened, and only with its info and its other data", async () => {
  const sealed = bytes(ENC + CIPHERTEXT);
  const text = await unseal(await reader(), INFO, sealed, utf8("Count-0"));
  expect(text && hex(text)).toBe(TEXT);
  expect(await unseal(await reader(), INFO, sealed, utf8("Count-1"))).toBeNull();
  expect(await unseal(await reader(), utf8("x"), sealed, utf8("Count-0"))).toBeNull();
});

it("what this phone seals for itself it opens, and nonsense it does not", async () => {
  const keys = await reader();
  const spki = base64(new Uint8Array(await crypto.subtle.exportKey("spki", keys.publicKey)));
  const opened = await unseal(keys, INFO, await seal(spki, INFO, utf8("a line")));
  expect(opened && hex(opened)).toBe(hex(utf8("a line")));
  for (const length of [0, 64, 65, 80, 81, 200]) {
    expect(await unseal(keys, INFO, new Uint8Array(length))).toBeNull(); // no point of the curve, too
  }
});
