import { expect, it } from "vitest";
import { newKeys, type Opened } from "./keys";
import { hideText, showText } from "./notes";

async function someKeys(): Promise<Opened> {
  const pair = await crypto.subtle.generateKey({ name: "ECDH", namedCurve: "P-256" }, true, ["deriveBits"]);
  const spki = new Uint8Array(await crypto.subtle.exportKey("spki", pair.publicKey));
  const sealKey = btoa(String.fromCharCode(...spki));
  return (await newKeys("d1", sealKey, "AB", "246813", 1)).opened;
}

it("comes back as it was, is never twice the same, and opens by no other key nor once it is changed", async () => {
  const [own, other] = [await someKeys(), await someKeys()];
  const text = JSON.stringify({ note: "left eye, ünïcode 漢" });
  const [a, b] = [await hideText(own, text), await hideText(own, text)];
  expect(a).not.toBe(b);
  expect(atob(a)).not.toContain("left eye");
  expect(await showText(own, a)).toBe(text);
  expect(await showText(other, a)).toBeNull();
  expect(await showText(own, `${a.slice(0, 20)}${a[20] === "A" ? "B" : "A"}${a.slice(21)}`)).toBeNull();
  expect(await showText(own, "no base64!")).toBeNull();
  expect(await showText(own, "AAAA")).toBeNull();
});
