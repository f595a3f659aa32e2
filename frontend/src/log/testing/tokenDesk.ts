/** The half of the fake server that knows phones by their tokens: a full one, one that may only send, and a new full one
 * that ends the one before with its first use. */
import type { TokensRequest } from "../../types.gen";
import { fromBase64, sha256, utf8 } from "../bytes";

interface Known {
  device: string;
  sendOnly: boolean;
}

export class TokenDesk {
  /** Whether it is as new as to know of tokens that may only send. */
  knowsSendOnly = true;
  /** Full ones, by their text, and whose they are. */
  readonly full = new Map<string, string>();
  /** Hashes, by device. */
  readonly send = new Map<string, string>();
  readonly next = new Map<string, string>();
  private given = 0;

  /** A new full token; what the device had before is void. */
  async give(device: string, sendHash: string | undefined): Promise<{ token: string; sendOnly: boolean }> {
    this.given += 1;
    const token = `token-${this.given}`;
    this.full.set(token, device);
    this.next.delete(device);
    this.send.delete(device);
    const sendOnly = this.knowsSendOnly && Boolean(sendHash);
    if (sendOnly) this.send.set(device, sendHash ?? "");
    return { token, sendOnly };
  }

  copy(): [string, string][][] {
    return [[...this.full], [...this.send], [...this.next]];
  }

  /** As after a restore. */
  put(copied: readonly [string, string][][]): void {
    for (const [at, kind] of [this.full, this.send, this.next].entries()) {
      kind.clear();
      for (const [key, value] of copied[at] ?? []) kind.set(key, value);
    }
  }

  async by(token: string): Promise<Known | null> {
    const hash = await sha256(token);
    const next = [...this.next].find(([, one]) => one === hash)?.[0];
    if (next !== undefined) {
      for (const [text, device] of this.full) if (device === next) this.full.delete(text);
      this.full.set(token, next);
      this.next.delete(next);
    }
    const device = this.full.get(token);
    if (device !== undefined) return { device, sendOnly: false };
    const sender = [...this.send].find(([, one]) => one === hash)?.[0];
    return sender === undefined ? null : { device: sender, sendOnly: true };
  }

  /** The status of the answer. `publicKey`: the device's, SPKI in base64. */
  async take(device: string, server: string, body: string, publicKey: string): Promise<number> {
    const { send, full, signature } = JSON.parse(body) as TokensRequest;
    const text = `chinrest tokens ${server} ${device} ${send} ${full}`;
    if (!(await isSigned(publicKey, text, signature))) return 403;
    this.send.set(device, send);
    if (full) this.next.set(device, full);
    return 204;
  }
}

/** `publicKey`: SPKI in base64. */
export async function isSigned(publicKey: string, text: string, signature: string): Promise<boolean> {
  const scheme = { name: "ECDSA", namedCurve: "P-256" };
  const key = await crypto.subtle.importKey("spki", fromBase64(publicKey), scheme, false, ["verify"]);
  return crypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, fromBase64(signature), utf8(text));
}
