/** Lines as a phone with PINs stores them: what must stay readable beside them is bound to them. */

import { base64, randomBytes, utf8 } from "../bytes";
import { readySeal, type Seal } from "../carry/hpke";
import type { Row } from "../db";
import type { StoredRefused } from "../hiding";
import { json } from "../line";
import type { RefusedLine } from "../types";
import { ifOpened } from "./failed";
import type { LockKeys, Opened } from "./keys";
import { unseal } from "./open";
import { IV_BYTES } from "./wrap";

type Bytes = Uint8Array<ArrayBuffer>;

const OWN_INFO = utf8("chinrest own line 1");
/** What the server opens a locked phone's lines by. */
const OUT_INFO = utf8("chinrest sealed line 1");

/** Readable with no PIN: it says nothing about a patient. `sha256`: of the envelope, which the chain goes on from. */
interface Readable {
  device: string;
  seq: number;
  id: string;
  case: string | null;
  sha256: string;
}

/** The same line for the server (base64), which a locked phone sends; null where the server has it. */
interface Sendable {
  out: string | null;
}

/** Written, or made so, while the phone was unlocked. */
export interface KeptRow extends Readable, Sendable {
  form: "kept";
  iv: Bytes;
  text: Bytes;
}

/** Written while it was locked. */
export interface SealedRow extends Readable, Sendable {
  form: "sealed";
  text: Bytes;
}

export type HiddenRow = KeptRow | SealedRow;

const REFUSED_INFO = utf8("chinrest refusal 1");

const decoder = new TextDecoder("utf-8", { fatal: true });

function bound({ device, seq, id, case: of, sha256 }: Readable): Bytes {
  return utf8(json([device, seq, id, of, sha256]));
}

function readable({ device, seq, id, case: of }: Row, sha256: string): Readable {
  return { device, seq, id, case: of, sha256 };
}

/** By the data key. `sha256`: the hash of the line's envelope. `out`: the server's seal, for a line that it lacks. */
export async function keep(
  { dataKey }: Opened,
  row: Row,
  sha256: string,
  out: Seal | null,
): Promise<KeptRow> {
  const beside = readable(row, sha256);
  const iv = randomBytes(IV_BYTES);
  const how = { name: "AES-GCM", iv, additionalData: bound(beside) };
  const raw = utf8(row.raw);
  const [text, sent] = await Promise.all([crypto.subtle.encrypt(how, dataKey, raw), out?.(raw)]);
  return { ...beside, form: "kept", iv, text: new Uint8Array(text), out: sent ? base64(sent) : null };
}

/** Two seals of one line, made ahead of the tap that needs them. */
export interface Seals {
  own: Seal;
  out: Seal;
}

/** For a line that the server lacks. */
export function readyOut(keys: LockKeys): Promise<Seal> {
  return readySeal(keys.sealKey, OUT_INFO);
}

export async function readySeals(keys: LockKeys): Promise<Seals> {
  const [own, out] = await Promise.all([readySeal(keys.publicKey, OWN_INFO), readyOut(keys)]);
  return { own, out };
}

/** For the phone's own key and for the server's: nobody needs to have unlocked it. */
export async function sealRow(seals: Seals, row: Row, sha256: string): Promise<SealedRow> {
  const beside = readable(row, sha256);
  const raw = utf8(row.raw);
  const [text, out] = await Promise.all([seals.own(raw, bound(beside)), seals.out(raw)]);
  return { ...beside, form: "sealed", text, out: base64(out) };
}

/** The line again; null where its row was changed, or is another phone's. */
export async function openRow(opened: Opened, row: HiddenRow): Promise<Row | null> {
  const raw = row.form === "kept" ? await openKept(opened, row) : await openSealed(opened, row);
  if (raw === null) return null;
  const { device, seq, id, case: of } = row;
  return { device, seq, id, case: of, form: "plain", raw: decoder.decode(raw) };
}

function openKept({ dataKey }: Opened, row: KeptRow): Promise<Bytes | null> {
  const how = { name: "AES-GCM", iv: row.iv, additionalData: bound(row) };
  return ifOpened(crypto.subtle.decrypt(how, dataKey, row.text).then((raw) => new Uint8Array(raw)));
}

function openSealed({ pair }: Opened, row: SealedRow): Promise<Bytes | null> {
  return unseal(pair, OWN_INFO, row.text, bound(row));
}

function boundRefusal({ seq, id, case: of, code }: RefusedLine): Bytes {
  return utf8(json([seq, id, of, code]));
}

/** A refusal, whose type and reason may tell of the case: for the phone's own key, locked or not. */
export async function sealRefusal(keys: LockKeys, line: RefusedLine): Promise<StoredRefused> {
  const { type, reason } = line;
  const sealed = await readySeal(keys.publicKey, REFUSED_INFO);
  return {
    ...line,
    type: "",
    reason: "",
    hidden: await sealed(utf8(json({ type, reason })), boundRefusal(line)),
  };
}

/** With its type and reason; without them where they do not open. */
export async function openRefusal({ pair }: Opened, row: StoredRefused): Promise<RefusedLine> {
  const { hidden, ...line } = row;
  const raw = hidden && (await unseal(pair, REFUSED_INFO, hidden, boundRefusal(line)));
  if (!raw) return line;
  const said = JSON.parse(decoder.decode(raw)) as Pick<RefusedLine, "type" | "reason">;
  return { ...line, ...said };
}
