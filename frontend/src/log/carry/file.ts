/** A file of lines that anybody may carry and only the final server can read: a header and its parts, a row of JSON
 * each. A part is what a sync would send, packed and sealed. The server's `log/carried.py` reads it. */
import type { CarriedHeader, CarriedPart, CarryingKey } from "../../types.gen";
import { base64, sha256, utf8, uuid4 } from "../bytes";
import { envelopeText, type Head, json, NO_HEAD } from "../line";
import { fromNumbers, type Ranges, union } from "../ranges";
import type { Kept } from "../sync/kept";
import { gzip, signedText } from "../sync/request";
import { joined, seal } from "./hpke";

export const FORMAT = 1;
/** The server's own limits, and room for the header. */
const FILE_LIMIT_BYTES = 16 * 1024 * 1024 - 4096;
const PARTS_LIMIT = 256;
const PART_LIMIT_BYTES = 256 * 1024;
/** What sealing, base64 and the row around it add to a part. */
const ROW_BYTES = 256;

export interface MadeFile {
  file: string;
  text: string;
  lines: Ranges;
  /** The chain's head at the last line that is in it. */
  head: Head;
}

/** What the seal of part `n`, counted from 1, is bound to. */
export function partInfo(headerRow: string, n: number): Uint8Array<ArrayBuffer> {
  return utf8(`chinrest carried\n${headerRow}\n${n}`);
}

/** The rows of a file, each ended by a line feed. `packed`: what goes into each part. */
export async function writeFile(
  header: CarriedHeader,
  key: string,
  packed: readonly Uint8Array<ArrayBuffer>[],
): Promise<string> {
  const row = json(header);
  const rows = [row];
  for (const [index, part] of packed.entries()) {
    const sealed = await seal(key, partInfo(row, index + 1), part);
    rows.push(json({ record: "part", n: index + 1, sealed: base64(sealed) } satisfies CarriedPart));
  }
  return rows.map((one) => `${one}\n`).join("");
}

/** All lines that wait, as many as one file may hold; null where none does. `skip`: sequences that are left out. */
export async function makeFile(
  kept: Kept,
  key: CarryingKey,
  skip: Ranges,
  now: number,
): Promise<MadeFile | null> {
  const packed: Uint8Array<ArrayBuffer>[] = [];
  let lines: Ranges = [];
  let head = NO_HEAD;
  let bytes = 0;
  let zipped = true;
  while (packed.length < PARTS_LIMIT) {
    const outbox = await kept.outbox(PART_LIMIT_BYTES, union(skip, lines));
    const last = outbox?.rows[outbox.rows.length - 1];
    if (!outbox || !last || outbox.sealed) break; // a locked phone makes no file
    const text = await signedText(outbox, now);
    const zip = await gzip(text);
    zipped = zip !== null; // a browser can for every part or for none
    const part = zip ? new Uint8Array(zip) : joined(utf8(text));
    bytes += Math.ceil(((part.length + ROW_BYTES) * 4) / 3);
    if (bytes > FILE_LIMIT_BYTES) break;
    packed.push(part);
    lines = union(lines, fromNumbers(outbox.rows.map((row) => row.seq)));
    head = { seq: last.seq, sha256: await sha256(envelopeText(last.raw)) };
  }
  if (packed.length === 0) return null;
  const header: CarriedHeader = {
    record: "carried",
    v: FORMAT,
    server: key.server,
    key: await sha256(key.key),
    file: uuid4(),
    made_at: now,
    parts: packed.length,
    packing: zipped ? "gzip" : "",
  };
  return { file: header.file, text: await writeFile(header, key.key, packed), lines, head };
}
