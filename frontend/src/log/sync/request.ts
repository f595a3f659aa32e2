/** The batch as it travels: a header line, then the lines as they are, gzip where the browser can. */
import type { SyncHeader } from "../../types.gen";
import { base64, sha256, timeOf, utf8 } from "../bytes";
import { envelopeText, FIRST_PREV, json, readLine } from "../line";
import { APP_VERSION } from "../version";
import type { Outbox } from "./kept";
import type { Sent } from "./take";

export interface Batch {
  headers: Record<string, string>;
  body: BodyInit;
  sent: Sent[];
}

/** ECDSA P-256 with SHA-256 over an ASCII text. Over a head's hash it vouches for the whole chain before it. */
export async function signature(keys: Pick<CryptoKeyPair, "privateKey">, text: string): Promise<string> {
  const made = await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, keys.privateKey, utf8(text));
  return base64(new Uint8Array(made));
}

export async function gzip(text: string): Promise<ArrayBuffer | null> {
  if (typeof CompressionStream === "undefined") return null;
  const zipped = new Blob([text]).stream().pipeThrough(new CompressionStream("gzip"));
  return new Response(zipped).arrayBuffer();
}

/** Header and lines, signed and not yet packed: what is sent, and what is sealed into a file. */
export async function signedText(
  { device, keys, sync, rows, waiting, sealed, headSha256 }: Outbox,
  now: number,
): Promise<string> {
  const last = rows[rows.length - 1];
  const head = headSha256 ?? (last ? await sha256(envelopeText(last.raw)) : FIRST_PREV);
  const header: SyncHeader = {
    device: device.id,
    head_seq: last?.seq ?? 0,
    head_sha256: head,
    signature: last ? await signature(keys, head) : null,
    waiting,
    now,
    app: APP_VERSION,
    epoch: sync.epoch,
    cursor: sync.cursor,
    sealed,
  };
  return `${json(header)}\n${rows.map((row) => `${row.raw}\n`).join("")}`;
}

export async function batchOf(outbox: Outbox, now: number): Promise<Batch> {
  const { token, rows } = outbox;
  const text = await signedText(outbox, now);
  const zipped = await gzip(text);
  const sent = rows.map((row): Sent => {
    const envelope = readLine(row.raw)?.envelope;
    return {
      id: row.id,
      seq: row.seq,
      case: row.case,
      type: envelope?.type ?? "",
      at: envelope?.at ?? timeOf(row.id),
    };
  });
  return {
    headers: {
      "Content-Type": "application/x-ndjson",
      ...(zipped ? { "Content-Encoding": "gzip" } : {}),
      Authorization: `Bearer ${token}`,
    },
    body: zipped ?? text,
    sent,
  };
}
