/** The data key, wrapped so that one person's PIN gives it back: PBKDF2-HMAC-SHA-256 (RFC 8018) makes the key of an
 * AES-256-GCM wrap. Nothing of the PIN is kept. */
import { base64, fromBase64, randomBytes, utf8 } from "../bytes";
import { ifOpened } from "./failed";

/** What the Password Storage Cheat Sheet of OWASP asks for of this function. A wrap keeps its own number, so that a
 * later version may ask for more. */
export const ROUNDS = 600_000;
const SALT_BYTES = 16;
export const IV_BYTES = 12;
const DATA_KEY: AesKeyAlgorithm = { name: "AES-GCM", length: 256 };
const DATA_KEY_USES: KeyUsage[] = ["encrypt", "decrypt", "wrapKey", "unwrapKey"];

/** Bytes in base64. */
export interface Wrap {
  salt: string;
  rounds: number;
  iv: string;
  key: string;
}

/** What all that is stored on the phone is encrypted by. It can be read out, or nobody else could get a wrap of it. */
export function newDataKey(): Promise<CryptoKey> {
  return crypto.subtle.generateKey(DATA_KEY, true, DATA_KEY_USES);
}

/** Raises where it is no such key. */
export async function dataKeyOf(text: string): Promise<CryptoKey> {
  return crypto.subtle.importKey("raw", fromBase64(text), DATA_KEY, true, DATA_KEY_USES);
}

export async function textOf(dataKey: CryptoKey): Promise<string> {
  return base64(new Uint8Array(await crypto.subtle.exportKey("raw", dataKey)));
}

/** 256 bits out of a PIN. */
export async function bitsOf(
  pin: string,
  salt: Uint8Array<ArrayBuffer>,
  rounds: number,
): Promise<ArrayBuffer> {
  const typed = await crypto.subtle.importKey("raw", utf8(pin), "PBKDF2", false, ["deriveBits"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations: rounds };
  return crypto.subtle.deriveBits(how, typed, 256);
}

async function pinKey(pin: string, salt: Uint8Array<ArrayBuffer>, rounds: number): Promise<CryptoKey> {
  const uses: KeyUsage[] = ["wrapKey", "unwrapKey"];
  return crypto.subtle.importKey("raw", await bitsOf(pin, salt, rounds), "AES-GCM", false, uses);
}

/** `owner` is bound to it: a wrap that was put in another's place does not open. */
function wrapping(iv: Uint8Array<ArrayBuffer>, owner: string): AesGcmParams {
  return { name: "AES-GCM", iv, additionalData: utf8(`chinrest wrap 1\n${owner}`) };
}

export async function wrapped(
  dataKey: CryptoKey,
  pin: string,
  owner: string,
  rounds: number = ROUNDS,
): Promise<Wrap> {
  const [salt, iv] = [randomBytes(SALT_BYTES), randomBytes(IV_BYTES)];
  const by = await pinKey(pin, salt, rounds);
  const key = await crypto.subtle.wrapKey("raw", dataKey, by, wrapping(iv, owner));
  return { salt: base64(salt), rounds, iv: base64(iv), key: base64(new Uint8Array(key)) };
}

/** The data key; null where the PIN is another. */
export async function unwrapped(wrap: Wrap, pin: string, owner: string): Promise<CryptoKey | null> {
  const by = await pinKey(pin, fromBase64(wrap.salt), wrap.rounds);
  const how = wrapping(fromBase64(wrap.iv), owner);
  return ifOpened(
    crypto.subtle.unwrapKey("raw", fromBase64(wrap.key), by, how, DATA_KEY, true, DATA_KEY_USES),
  );
}
