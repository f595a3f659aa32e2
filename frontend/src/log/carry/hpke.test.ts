import { describe, expect, it } from "vitest";
import { base64, hex, utf8 } from "../bytes";
import { joined, pointOf, scheduleOf, seal, sealBy, shared } from "./hpke";

const CURVE = { name: "ECDH", namedCurve: "P-256" };
const bytes = (text: string) =>
  Uint8Array.from({ length: text.length / 2 }, (_, n) => Number.parseInt(text.slice(2 * n, 2 * n + 2), 16));
const base64url = (text: string) =>
  base64(bytes(text)).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

/** A pair by its secret number and its public point, both in hex. */
async function pair(secret: string, point: string): Promise<CryptoKeyPair> {
  const [x, y] = [point.slice(2, 66), point.slice(66)].map(base64url);
  const jwk: JsonWebKey = { kty: "EC", crv: "P-256", x: x ?? "", y: y ?? "" };
  return {
    privateKey: await crypto.subtle.importKey("jwk", { ...jwk, d: base64url(secret) }, CURVE, true, [
      "deriveBits",
    ]),
    publicKey: await crypto.subtle.importKey("jwk", jwk, CURVE, true, []),
  };
}

// RFC 9180, appendix A.3.1: DHKEM(P-256, HKDF-SHA256), HKDF-SHA256, AES-128-GCM, base mode
const SENDER = {
  secret: "4995788ef4b9d6132b249ce59a77281493eb39af373d236a1fe415cb0c2d7beb",
  point:
    "04a92719c6195d5085104f469a8b9814d5838ff72b60501e2c4466e5e67b325ac98536d7b61a1af4b78e5b7f951c0900be863c403ce65c9bfcb9382657222d18c4",
};
const READER = {
  secret: "f3ce7fdae57e1a310d87f1ebbde6f328be0a99cdbcadf4d6589cf29de4b8ffd2",
  point:
    "04fe8c19ce0905191ebc298a9245792531f26f0cece2460639e8bc39cb7f706a826a779b4cf969b8a0e539c7f62fb3d30ad6aa8f80e30f1d128aafd68a2ce72ea0",
};
const INFO = bytes("4f6465206f6e2061204772656369616e2055726e");
const TEXT = bytes("4265617574792069732074727574682c20747275746820626561757479");

async function readers(): Promise<{ keys: CryptoKeyPair; spki: string }> {
  const keys = await pair(READER.secret, READER.point);
  return { keys, spki: base64(new Uint8Array(await crypto.subtle.exportKey("spki", keys.publicKey))) };
}

describe("RFC 9180's own values", () => {
  it("for the key and the nonce, from either end", async () => {
    const sender = await pair(SENDER.secret, SENDER.point);
    const { keys } = await readers();
    for (const dh of [
      await shared(sender.privateKey, keys.publicKey),
      await shared(keys.privateKey, sender.publicKey),
    ]) {
      const { key, nonce } = await scheduleOf(dh, bytes(SENDER.point), bytes(READER.point), INFO);
      expect(hex(key)).toBe("868c066ef58aae6dc589b6cfdd18f97e");
      expect(hex(nonce)).toBe("4e0bc5018beba4bf004cca59");
    }
  });

  it("for the first sealed text", async () => {
    const sender = await pair(SENDER.secret, SENDER.point);
    const sealed = await sealBy(sender, (await readers()).spki, INFO, TEXT, utf8("Count-0"));
    expect(hex(sealed)).toBe(
      `${SENDER.point}5ad590bb8baa577f8619db35a36311226a896e7342a6d836d8b7bcd2f20b6c7f9076ac232e3ab2523f39513434`,
    );
  });
});

it("no two texts are sealed by the same key", async () => {
  const { spki } = await readers();
  const sealed = await Promise.all(Array.from({ length: 8 }, () => seal(spki, INFO, TEXT)));
  expect(new Set(sealed.map((one) => hex(one.slice(0, 65)))).size).toBe(8);
});

it("what is no key of this curve seals nothing", async () => {
  for (const key of ["", "AAAA", "not base64 at all!"]) await expect(seal(key, INFO, TEXT)).rejects.toThrow();
});

it("a point comes out as it went in", async () => {
  const { keys } = await readers();
  expect(hex(await pointOf(keys.publicKey))).toBe(READER.point);
  expect(hex(joined(bytes("00ff"), [1, 2]))).toBe("00ff0102");
});
