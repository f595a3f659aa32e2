/** Opening what was sealed for this phone: the counterpart of `carry/hpke.ts`. */
import { joined, pointOf, scheduleOf, shared } from "../carry/hpke";
import { ifOpened } from "./failed";

type Bytes = Uint8Array<ArrayBuffer>;

export const CURVE = { name: "ECDH", namedCurve: "P-256" };
/** An uncompressed point of the curve: the sender's key before the ciphertext. */
const POINT_BYTES = 65;

async function opened(reader: CryptoKeyPair, info: Bytes, sealed: Bytes, aad: Bytes): Promise<Bytes> {
  const enc = joined(sealed.subarray(0, POINT_BYTES));
  const sender = await crypto.subtle.importKey("raw", enc, CURVE, true, []);
  const dh = await shared(reader.privateKey, sender);
  const { key, nonce } = await scheduleOf(dh, enc, await pointOf(reader.publicKey), info);
  const known = await crypto.subtle.importKey("raw", key, "AES-GCM", false, ["decrypt"]);
  const how = { name: "AES-GCM", iv: nonce, additionalData: aad };
  return new Uint8Array(await crypto.subtle.decrypt(how, known, joined(sealed.subarray(POINT_BYTES))));
}

/** What was sealed; null where it was for another key, with other `info` or `aad`, or was changed since. */
export function unseal(
  reader: CryptoKeyPair,
  info: Bytes,
  sealed: Bytes,
  aad: Bytes = new Uint8Array(),
): Promise<Bytes | null> {
  return ifOpened(opened(reader, info, sealed, aad));
}
