import { beforeAll, describe, expect, it } from "vitest";
import type { BackupWord, FinalReceipt, SyncAnswer } from "../../types.gen";
import { base64, sha256, utf8 } from "../bytes";
import type { Meta } from "../db";
import type { BackedUp } from "./memory";
import { backedUpAfter, backupBy, backupText, provenBy, receiptText } from "./proof";

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
const line = async (seq: number): Promise<string | null> => (seq === 3 ? RAW : null);

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

describe("what a final server's last backup holds", () => {
  const said = async (change: Partial<BackupWord> = {}): Promise<BackupWord> => {
    const head_sha256 = receipt.head_sha256;
    const word = { server: "s", epoch: "e", device: "me", seq: 3, head_sha256, made_at: 8, at: 9, ...change };
    const how = { name: "ECDSA", hash: "SHA-256" };
    const made = await crypto.subtle.sign(how, keys.privateKey, utf8(backupText(word)));
    return { ...word, signature: base64(new Uint8Array(made)) };
  };
  const heard = (known: BackedUp | null, word: BackupWord | null | undefined, rawAt = line) =>
    backedUpAfter(known, word, key, "me", rawAt);
  const upTo3 = (): BackedUp => ({
    epoch: "e",
    seq: 3,
    head_sha256: receipt.head_sha256,
    at: 9,
    stands: true,
  });

  it("is what it signed of this phone's own chain", async () => {
    expect(await heard(null, await said())).toEqual(upTo3());
    expect(await heard(null, null)).toBeNull();
    expect(await heard(null, undefined)).toBeNull();
    expect(await heard(null, await said({ device: "you" }))).toBeNull();
    expect(await heard(null, await said({ head_sha256: "0".repeat(64) }))).toBeNull();
    expect(await heard(null, await said(), async () => null)).toBeNull();
    // nobody but the server can make it: a hub raises the number, or signs with its own key
    expect(await heard(null, { ...(await said()), seq: 4 }, async () => RAW)).toBeNull();
    expect(await backedUpAfter(null, await said(), "", "me", line)).toBeNull();
  });

  it("stands no longer once an answer says nothing of it", async () => {
    expect(await heard(upTo3(), null)).toEqual({ ...upTo3(), stands: false });
    expect(await heard({ ...upTo3(), stands: false }, await said({ at: 10 }))).toEqual({
      ...upTo3(),
      at: 10,
    });
  });

  it("goes on standing when the next backup says the same of a line that was cleared since", async () => {
    const gone = async () => null;
    expect(await heard(upTo3(), await said({ at: 10 }), gone)).toEqual({ ...upTo3(), at: 10 });
    const other = await said({ at: 10, head_sha256: "0".repeat(64) });
    const fallen = await heard(upTo3(), other, gone);
    expect(fallen?.stands).toBe(false);
    expect((await heard(fallen, other, gone))?.stands).toBe(false);
  });

  it("is that of the backup restored after a restore, and no old word brings the other back", async () => {
    const first = async () => '{"seq":1}\t{}';
    const restored = await said({ epoch: "f", seq: 1, head_sha256: await sha256('{"seq":1}'), at: 20 });
    const now = await heard(upTo3(), restored, first);
    expect(now).toMatchObject({ epoch: "f", seq: 1, stands: true });
    expect(await heard(now, await said())).toEqual({ ...now, stands: false }); // a hub repeats what was before
    expect(await heard(upTo3(), await said({ at: 5, seq: 2 }))).toEqual(upTo3()); // older, of the same epoch
  });

  it("is believed of the final server alone", async () => {
    const backup = await said();
    const by = (kind: "final" | "hub", more: object, known: object) =>
      backupBy(null, at(kind, { backup, ...more }), device(known), line);
    expect(await by("final", {}, { serverKey: key })).toEqual(upTo3());
    expect(await by("hub", { epoch: "of the hub" }, { finalKey: key })).toEqual(upTo3());
    expect(await by("hub", {}, { serverKey: key })).toBeNull();
    expect(await by("final", {}, { finalKey: key })).toBeNull();
    expect(await by("final", { epoch: "f" }, { serverKey: key })).toBeNull();
    expect(await by("final", { backup: "nonsense" }, { serverKey: key })).toBeNull();
  });
});
