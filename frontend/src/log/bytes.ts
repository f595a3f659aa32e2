/** Bytes and texts: hex, base64, SHA-256, random ids. */

const HEX = Array.from({ length: 256 }, (_, n) => n.toString(16).padStart(2, "0"));
const encoder = new TextEncoder();

export function utf8(text: string): Uint8Array<ArrayBuffer> {
  return encoder.encode(text);
}

export function hex(bytes: Uint8Array): string {
  let out = "";
  for (const byte of bytes) out += HEX[byte];
  return out;
}

export function base64(bytes: Uint8Array): string {
  let binary = "";
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return btoa(binary);
}

/** Raises where it is no base64. */
export function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}

/** SHA-256 of a text's UTF-8 bytes, in hex. Only in a secure context. */
export async function sha256(text: string): Promise<string> {
  return hex(new Uint8Array(await crypto.subtle.digest("SHA-256", utf8(text))));
}

export function randomBytes(count: number): Uint8Array<ArrayBuffer> {
  return crypto.getRandomValues(new Uint8Array(count));
}

function asUuid(bytes: Uint8Array, version: number): string {
  bytes[6] = ((bytes[6] ?? 0) & 0x0f) | (version << 4);
  bytes[8] = ((bytes[8] ?? 0) & 0x3f) | 0x80;
  const text = hex(bytes);
  return `${text.slice(0, 8)}-${text.slice(8, 12)}-${text.slice(12, 16)}-${text.slice(16, 20)}-${text.slice(20)}`;
}

/** Random UUID (version 4). Made here because `crypto.randomUUID` is missing in older phone browsers. */
export function uuid4(): string {
  return asUuid(randomBytes(16), 4);
}

/** The milliseconds that a UUIDv7 begins with; 0 where it is none. */
export function timeOf(id: string): number {
  const ms = Number.parseInt(id.slice(0, 8) + id.slice(9, 13), 16);
  return id[14] === "7" && Number.isFinite(ms) ? ms : 0;
}

/** UUIDv7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, then random. */
export function uuid7(nowMs: number): string {
  const bytes = randomBytes(16);
  let rest = Math.max(0, Math.floor(nowMs));
  for (let i = 5; i >= 0; i--) {
    bytes[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  return asUuid(bytes, 7);
}
