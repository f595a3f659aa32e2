/** The half of the fake server that takes files in and answers them: it opens what was sealed for it, and no more
 * than the written contract says. */
import type { CarriedHeader, CarriedPart, CarryingKey, Receipts, SyncHeader } from "../../types.gen";
import { base64, fromBase64, sha256, utf8 } from "../bytes";
import { partInfo } from "../carry/file";
import { pointOf, scheduleOf, shared } from "../carry/hpke";
import { carryingKeyText } from "../carry/key";
import { fromNumbers } from "../ranges";
import type { FakeServer } from "./fakeServer";

const CURVE = { name: "ECDH", namedCurve: "P-256" };
const POINT_BYTES = 65;

export class CarriedServer {
  private keys = crypto.subtle.generateKey(CURVE, true, ["deriveBits"]);

  constructor(private readonly server: FakeServer) {}

  /** As a server that was set up anew. */
  changeKeys(): void {
    this.keys = crypto.subtle.generateKey(CURVE, true, ["deriveBits"]);
  }

  async told(): Promise<CarryingKey> {
    const spki = await crypto.subtle.exportKey("spki", (await this.keys).publicKey);
    const said = { server: this.server.id, key: base64(new Uint8Array(spki)) };
    return { ...said, signature: await this.server.sign(carryingKeyText(said)) };
  }

  private async unseal(info: Uint8Array<ArrayBuffer>, sealed: Uint8Array<ArrayBuffer>): Promise<ArrayBuffer> {
    const { privateKey, publicKey } = await this.keys;
    const enc = sealed.slice(0, POINT_BYTES);
    const sender = await crypto.subtle.importKey("raw", enc, CURVE, true, []);
    const dh = await shared(privateKey, sender);
    const { key, nonce } = await scheduleOf(dh, enc, await pointOf(publicKey), info);
    const known = await crypto.subtle.importKey("raw", key, "AES-GCM", false, ["decrypt"]);
    return crypto.subtle.decrypt({ name: "AES-GCM", iv: nonce }, known, sealed.slice(POINT_BYTES));
  }

  /** What a locked phone sealed: one line. */
  async line(sealed: string): Promise<string> {
    return new TextDecoder().decode(await this.unseal(utf8("chinrest sealed line 1"), fromBase64(sealed)));
  }

  /** What an escrow holds, for the phone that it names. */
  async dataKey(escrow: string, device: string): Promise<string> {
    const held = await this.unseal(utf8("chinrest data key 1"), fromBase64(escrow));
    const [owner, key = ""] = new TextDecoder().decode(held).split("\t");
    if (owner !== device) throw new Error("another phone's");
    return key;
  }

  /** A part's header and lines, as they were before sealing. */
  async opened(text: string): Promise<{ header: SyncHeader; lines: string[] }[]> {
    const [first = "", ...rest] = text.split("\n");
    const header = JSON.parse(first) as CarriedHeader;
    const parts: { header: SyncHeader; lines: string[] }[] = [];
    for (let n = 1; n <= header.parts; n++) {
      const part = JSON.parse(rest[n - 1] ?? "") as CarriedPart;
      const plain = await this.unseal(partInfo(first, n), fromBase64(part.sealed));
      const stream = new Blob([plain]).stream().pipeThrough(new DecompressionStream("gzip"));
      const [head = "", ...lines] = (await new Response(stream).text()).split("\n");
      parts.push({ header: JSON.parse(head) as SyncHeader, lines: lines.slice(0, -1) });
    }
    return parts;
  }

  /** Takes a file in; its answer, with `change` in it, sealed all the same. */
  async take(text: string, change: Partial<Receipts> = {}): Promise<string> {
    const { file } = JSON.parse(text.split("\n", 1)[0] ?? "") as CarriedHeader;
    const taken: number[] = [];
    const refused: Receipts["refused"] = [];
    let device = "";
    for (const part of await this.opened(text)) {
      device = part.header.device;
      for (const raw of part.lines) {
        const said = await this.server.takeLine(raw, device);
        if (said.status !== "refused" && said.seq !== null) taken.push(said.seq);
        else refused.push({ id: said.id, seq: said.seq, code: said.code ?? "x", reason: said.reason ?? "" });
      }
    }
    const receipt = await this.server.receipt(device);
    const { epoch, now } = this.server;
    return this.sealed({
      record: "receipts",
      v: 1,
      server: this.server.id,
      epoch,
      device,
      file,
      at: now,
      taken: fromNumbers(taken),
      refused,
      receipt: receipt && { ...receipt, server: this.server.id, epoch },
      backup: await this.server.backupWord(device),
      ...change,
    });
  }

  async sealed(said: Receipts): Promise<string> {
    const row = JSON.stringify(said);
    const digest = await sha256(row);
    const signature = await this.server.sign(`chinrest receipts ${digest}`);
    return `${row}\n${JSON.stringify({ record: "receipts_seal", sha256: digest, signature })}\n`;
  }
}
