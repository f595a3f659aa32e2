import { beforeAll, describe, expect, it } from "vitest";
import type { FinalReceipt, SyncAnswer } from "../../types.gen";
import { base64, sha256, utf8 } from "../bytes";
import type { Meta } from "../db";
import { provenBy, receiptText } from "./proof";

const RAW = '{"seq":3}\t{}';
let keys: CryptoKeyPair;
let key = "";
let receipt: FinalReceipt;

async function signed(said: Omit<FinalReceipt, "signature">): Promise<FinalReceipt> {
  const how = { name: "ECDSA", hash: "SHA-256" };
  const made = await crypto.subtle.sign(how, keys.privateKey, utf8(receiptText(said)));
  return { ...said, signature: base64(new Uint8Array(made)) };
}

beforeAll(async () => {
  keys = await crypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, true, ["sign", "verify"]);
  key = base64(new Uint8Array(await crypto.subtle.exportKey("spki", keys.publicKey)));
  const head = await sha256(RAW.slice(0, RAW.indexOf("\t")));
  receipt = await signed({ server: "s", epoch: "e", device: "me", seq: 3, head_sha256: head, at: 9 });
});

const device = (more: object) => ({ id: "me", ...more }) as Meta["device"];
const at = (kind: "final" | "hub", more: object) =>
  ({ server: "s", epoch: "e", kind, receipt: null, final: null, ...more }) as SyncAnswer;
const line = async (seq: number) => (seq === 3 ? RAW : null);

describe("what a final server has proved", () => {
  it("reaches as far as its receipt, by its own key and this phone's own line", async () => {
    expect(await provenBy(at("final", { receipt }), device({ serverKey: key }), line)).toBe(3);
    expect(await provenBy(at("hub", { final: receipt }), device({ finalKey: key }), line)).toBe(3);
  });

  it("is nothing without a key, without a receipt, or under another key", async () => {
    for (const known of [{}, { serverKey: "" }, { serverKey: "AAAA" }, { finalKey: key }]) {
      expect(await provenBy(at("final", { receipt }), device(known), line)).toBe(0);
    }
    expect(await provenBy(at("final", {}), device({ serverKey: key }), line)).toBe(0);
    // a hub that calls itself final has the hub's key, and no receipt of the final server's under it
    expect(await provenBy(at("hub", { receipt }), device({ serverKey: key, finalKey: key }), line)).toBe(0);
  });

  it("is nothing of another chain, another device, another epoch or another number", async () => {
    const known = device({ serverKey: key });
    expect(await provenBy(at("final", { receipt }), known, async () => '{"seq":3,"x":1}\t{}')).toBe(0);
    expect(await provenBy(at("final", { receipt }), known, async () => null)).toBe(0);
    expect(await provenBy(at("final", { receipt, epoch: "f" }), known, line)).toBe(0);
    expect(await provenBy(at("final", { receipt: { ...receipt, device: "you" } }), known, line)).toBe(0);
    expect(await provenBy(at("final", { receipt: { ...receipt, seq: 4 } }), known, async () => RAW)).toBe(0);
    const cut = { ...receipt, signature: receipt.signature.slice(4) };
    expect(await provenBy(at("final", { receipt: cut }), known, line)).toBe(0);
  });
});
