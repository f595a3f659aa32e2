/** Sealing for one reader: Hybrid Public Key Encryption (RFC 9180), base mode, DHKEM(P-256, HKDF-SHA256), HKDF-SHA256,
 * AES-128-GCM, out of what every browser's Web Crypto has. The counterpart of the server's `log/sealing.py`. */
import { fromBase64, utf8 } from "../bytes";

type Bytes = Uint8Array<ArrayBuffer>;

const CURVE = { name: "ECDH", namedCurve: "P-256" };
const HASH_BYTES = 32;
const NOTHING: Bytes = new Uint8Array();
const VERSION = utf8("HPKE-v1");
// the numbers of KEM, KDF and AEAD: RFC 9180, section 7
const KEM = joined(utf8("KEM"), [0x00, 0x10]);
const SUITE = joined(utf8("HPKE"), [0x00, 0x10, 0x00, 0x01, 0x00, 0x01]);

export function joined(...parts: (Bytes | number[])[]): Bytes {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

async function hmac(key: Bytes, text: Bytes): Promise<Bytes> {
  const how = { name: "HMAC", hash: "SHA-256" };
  const known = await crypto.subtle.importKey("raw", key, how, false, ["sign"]);
  return new Uint8Array(await crypto.subtle.sign("HMAC", known, text));
}

/** HKDF's two halves (RFC 5869), which HPKE needs one by one and Web Crypto has only together. */
async function extract(suite: Bytes, salt: Bytes, label: string, ikm: Bytes): Promise<Bytes> {
  // an empty key is refused by Web Crypto; zeros are the same key to HMAC
  const key = salt.length > 0 ? salt : new Uint8Array(HASH_BYTES);
  return hmac(key, joined(VERSION, suite, utf8(label), ikm));
}

/** At most one block of the hash, which is all that this suite asks for. */
async function expand(suite: Bytes, prk: Bytes, label: string, info: Bytes, length: number): Promise<Bytes> {
  const labelled = joined([length >> 8, length & 0xff], VERSION, suite, utf8(label), info);
  return (await hmac(prk, joined(labelled, [1]))).slice(0, length);
}

export interface Schedule {
  key: Bytes;
  nonce: Bytes;
}

/** What both ends come to. `dh`: the shared point; `enc`: the sender's public key; `receiver`: the reader's. */
export async function scheduleOf(dh: Bytes, enc: Bytes, receiver: Bytes, info: Bytes): Promise<Schedule> {
  const prk = await extract(KEM, NOTHING, "eae_prk", dh);
  const shared = await expand(KEM, prk, "shared_secret", joined(enc, receiver), HASH_BYTES);
  const context = joined(
    [0], // base mode: no key beforehand, no sender's key
    await extract(SUITE, NOTHING, "psk_id_hash", NOTHING),
    await extract(SUITE, NOTHING, "info_hash", info),
  );
  const secret = await extract(SUITE, shared, "secret", NOTHING);
  return {
    key: await expand(SUITE, secret, "key", context, 16),
    nonce: await expand(SUITE, secret, "base_nonce", context, 12),
  };
}

export async function pointOf(key: CryptoKey): Promise<Bytes> {
  return new Uint8Array(await crypto.subtle.exportKey("raw", key));
}

export async function shared(mine: CryptoKey, theirs: CryptoKey): Promise<Bytes> {
  return new Uint8Array(await crypto.subtle.deriveBits({ name: "ECDH", public: theirs }, mine, 256));
}

/** What makes one sealed text, and no second: two by the same key and nonce would give both away. */
export type Seal = (text: Bytes, aad?: Bytes) => Promise<Bytes>;

/** All of the sealing that does not hang on the text, done ahead, so that a tap waits for one AES-GCM only. The sender's
 * key may be given: no two texts may be sealed by the same one. Raises where `publicKey` (SPKI in base64) is none. */
export async function readySeal(publicKey: string, info: Bytes, sender?: CryptoKeyPair): Promise<Seal> {
  const own = sender ?? (await crypto.subtle.generateKey(CURVE, false, ["deriveBits"]));
  const receiver = await crypto.subtle.importKey("spki", fromBase64(publicKey), CURVE, true, []);
  const enc = await pointOf(own.publicKey);
  const dh = await shared(own.privateKey, receiver);
  const { key, nonce } = await scheduleOf(dh, enc, await pointOf(receiver), info);
  const known = await crypto.subtle.importKey("raw", key, "AES-GCM", false, ["encrypt"]);
  let used = false;
  return async (text, aad = NOTHING) => {
    if (used) throw new Error("this seal was used already");
    used = true;
    const how = { name: "AES-GCM", iv: nonce, additionalData: aad };
    return joined(enc, new Uint8Array(await crypto.subtle.encrypt(how, known, text)));
  };
}

/** As `seal`, by a sender's key that is given: no two texts may be sealed by the same one. */
export async function sealBy(
  sender: CryptoKeyPair,
  publicKey: string,
  info: Bytes,
  text: Bytes,
  aad: Bytes = NOTHING,
): Promise<Bytes> {
  return (await readySeal(publicKey, info, sender))(text, aad);
}

/** The sender's key of this one text, and the text, readable by the owner of `publicKey` (SPKI in base64) alone and
 * only with the same `info`. Raises where it is no such key. */
export async function seal(publicKey: string, info: Bytes, text: Bytes): Promise<Bytes> {
  return (await readySeal(publicKey, info))(text);
}
