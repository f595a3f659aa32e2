/** The batch as it travels: a header line, then the lines, as they are or in short form, gzip where the browser can. */
import type { SyncHeader } from "../../types.gen";
import { base64, sha256, utf8 } from "../bytes";
import type { Sending } from "../hiding";
import { envelopeText, FIRST_PREV, json } from "../line";
import { APP_VERSION } from "../version";
import type { Outbox } from "./kept";
import { shortened } from "./short";

export interface Batch {
  headers: Record<string, string>;
  body: BodyInit;
  headSha256: string;
  short: boolean;
}

/** ECDSA P-256 with SHA-256 over an ASCII text. Over a head's hash it vouches for the whole chain before it. */
export async function signature(keys: Pick<CryptoKeyPair, "privateKey">, text: string): Promise<string> {
  const made = await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, keys.privateKey, utf8(text));
  return base64(new Uint8Array(made));
}

/** So many lines are packed in one go, so that packing never holds up a tap. */
const AT_ONCE = 128;

/** What waits, such as a tap, has its turn. */
function turn(): Promise<void> {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(null);
  });
}

/** Text by text. As one, read through a blob or not, they cost more to put together than to pack. */
function streamOf(texts: readonly string[]): ReadableStream<Uint8Array<ArrayBuffer>> {
  let at = 0;
  return new ReadableStream({
    async pull(controller) {
      if (at > 0) await turn();
      controller.enqueue(utf8(texts[at++] ?? ""));
      if (at >= texts.length) controller.close();
    },
  });
}

export async function gzip(...texts: string[]): Promise<ArrayBuffer | null> {
  if (typeof CompressionStream === "undefined") return null;
  return new Response(streamOf(texts).pipeThrough(new CompressionStream("gzip"))).arrayBuffer();
}

type Signed = Pick<SyncHeader, "head_seq" | "head_sha256" | "signature">;

async function signed({ rows, headSha256 }: Sending, keys: CryptoKeyPair): Promise<Signed> {
  const last = rows[rows.length - 1];
  const head = headSha256 ?? (last ? await sha256(envelopeText(last.raw)) : FIRST_PREV);
  const by = last ? await signature(keys, head) : null;
  return { head_seq: last?.seq ?? 0, head_sha256: head, signature: by };
}

function headerText(
  { device, sync, waiting, sealed }: Outbox,
  by: Signed,
  now: number,
  short: boolean,
): string {
  const { epoch, cursor } = sync;
  const header: SyncHeader = {
    device: device.id,
    ...by,
    waiting,
    now,
    app: APP_VERSION,
    epoch,
    cursor,
    sealed,
    short,
  };
  return `${json(header)}\n`;
}

function linesText(lines: readonly string[]): string {
  return lines.length > 0 ? `${lines.join("\n")}\n` : "";
}

function textsOf(lines: readonly string[]): string[] {
  const texts: string[] = [];
  for (let at = 0; at < lines.length; at += AT_ONCE) texts.push(linesText(lines.slice(at, at + AT_ONCE)));
  return texts;
}

const wholeLines = ({ rows }: Sending): string[] => rows.map(({ raw }) => raw);

/** Header and lines, signed and not yet packed: what is sealed into a file. */
export async function signedText(outbox: Outbox, now: number): Promise<string> {
  const header = headerText(outbox, await signed(outbox, outbox.keys), now, false);
  return header + linesText(wholeLines(outbox));
}

/** The lines of a batch, packed and signed, before it is known what its header will say. */
export interface Packed {
  by: Signed;
  texts: string[];
  /** Null where the browser can't, and where there are no lines. */
  zipped: ArrayBuffer | null;
  /** Whether in short form. */
  short: boolean;
  /** Whether the short form was asked for; not all lines have one. */
  mayBeShort: boolean;
}

export async function pack(lines: Sending, keys: CryptoKeyPair, mayBeShort: boolean): Promise<Packed> {
  const whole = wholeLines(lines);
  const cut = mayBeShort && !lines.sealed && whole.length > 0 ? shortened(whole) : null;
  const texts = textsOf(cut ?? whole);
  const [by, zipped] = await Promise.all([signed(lines, keys), texts.length > 0 ? gzip(...texts) : null]);
  return { by, texts, zipped, short: cut !== null, mayBeShort };
}

function joined(one: ArrayBuffer, other: ArrayBuffer | null): ArrayBuffer {
  if (!other) return one;
  const both = new Uint8Array(one.byteLength + other.byteLength);
  both.set(new Uint8Array(one));
  both.set(new Uint8Array(other), one.byteLength);
  return both.buffer;
}

/** `packed`: its lines, where they were packed before. Header and lines are one gzip member each (RFC 1952, section
 * 2.2), so that the lines need not wait for the header. */
export async function batchOf(
  outbox: Outbox,
  now: number,
  mayBeShort: boolean,
  packed?: Packed,
): Promise<Batch> {
  const lines = packed?.mayBeShort === mayBeShort ? packed : await pack(outbox, outbox.keys, mayBeShort);
  const text = headerText(outbox, lines.by, now, lines.short);
  const header = await gzip(text);
  return {
    headers: {
      "Content-Type": "application/x-ndjson",
      ...(header ? { "Content-Encoding": "gzip" } : {}),
      Authorization: `Bearer ${outbox.token}`,
    },
    body: header ? joined(header, lines.zipped) : text + lines.texts.join(""),
    headSha256: lines.by.head_sha256,
    short: lines.short,
  };
}
