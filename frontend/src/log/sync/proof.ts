/** How far a final server's own signed word reaches: what a phone may once clear, it believes of nobody else. */
import type { BackupWord, FinalReceipt, SyncAnswer } from "../../types.gen";
import { fromBase64, sha256, utf8 } from "../bytes";
import type { Meta } from "../db";
import { envelopeText } from "../line";
import type { BackedUp } from "./memory";

/** What is signed: the same text that the server signs. */
export function receiptText(receipt: Omit<FinalReceipt, "signature">): string {
  const { server, epoch, device, seq, head_sha256, at } = receipt;
  return `chinrest receipt ${server} ${epoch} final ${device} ${seq} ${head_sha256} ${at}`;
}

export async function isSigned(key: string, text: string, signature: string): Promise<boolean> {
  try {
    const scheme = { name: "ECDSA", namedCurve: "P-256" };
    const known = await crypto.subtle.importKey("spki", fromBase64(key), scheme, false, ["verify"]);
    const how = { name: "ECDSA", hash: "SHA-256" };
    return await crypto.subtle.verify(how, known, fromBase64(signature), utf8(text));
  } catch {
    return false; // no key, or no signature: it proves nothing
  }
}

/** Reads this phone's own line; null where it is no longer here. */
export type RawAt = (seq: number) => Promise<string | null>;

/** The sequence up to which a receipt, signed by `key`, proves that this phone's own chain is held; 0 where it proves
 * nothing. */
export async function provenUpTo(
  receipt: FinalReceipt,
  key: string,
  device: string,
  rawAt: RawAt,
): Promise<number> {
  if (receipt.device !== device) return 0;
  const raw = await rawAt(receipt.seq);
  if (raw === null || (await sha256(envelopeText(raw))) !== receipt.head_sha256) return 0;
  return (await isSigned(key, receiptText(receipt), receipt.signature)) ? receipt.seq : 0;
}

/** The sequence up to which the answer proves that a final server holds this phone's own chain; 0 where it proves
 * nothing. A hub hands on the final server's receipt: that server's key counts, as it was given at enrolment. */
export async function provenBy(answer: SyncAnswer, device: Meta["device"], rawAt: RawAt): Promise<number> {
  const own = answer.kind === "final";
  const key = own ? device.serverKey : device.finalKey;
  const said = own ? answer.receipt : answer.final;
  if (!said || !key) return 0;
  const receipt = own ? { ...said, server: answer.server, epoch: answer.epoch } : (said as FinalReceipt);
  return provenUpTo(receipt, key, device.id, rawAt);
}

export function backupText(word: Omit<BackupWord, "signature">): string {
  const { server, epoch, device, seq, head_sha256, made_at, at } = word;
  return `chinrest backup ${server} ${epoch} ${device} ${seq} ${head_sha256} ${made_at} ${at}`;
}

/** What is known of the final server's last backup once it has said `word` (null: it said nothing of it). A hub can
 * withhold a word or repeat an old one, but not make one: what it withholds stands no longer, and an old one of another
 * epoch is from before a restore, so that nothing stands until a newer one comes. */
export async function backedUpAfter(
  known: BackedUp | null,
  word: BackupWord | null | undefined,
  key: string,
  device: string,
  rawAt: RawAt,
): Promise<BackedUp | null> {
  const nothing = known && { ...known, stands: false };
  if (word?.device !== device || !(await isSigned(key, backupText(word), word.signature))) return nothing;
  const { epoch, seq, head_sha256, at } = word;
  if (known && at < known.at) return epoch === known.epoch ? known : nothing;
  // what was proved once needs no line: that may have been cleared since
  if (known?.seq !== seq || known.head_sha256 !== head_sha256) {
    const raw = await rawAt(seq);
    if (raw === null || (await sha256(envelopeText(raw))) !== head_sha256) {
      return known && { ...known, epoch, at, stands: false };
    }
  }
  return { epoch, seq, head_sha256, at, stands: true };
}

/** As `backedUpAfter`, of the answer to a sync. */
export function backupBy(
  known: BackedUp | null,
  answer: SyncAnswer,
  device: Meta["device"],
  rawAt: RawAt,
): Promise<BackedUp | null> {
  const own = answer.kind === "final";
  const word = answer.backup;
  const its = !own || (word?.server === answer.server && word.epoch === answer.epoch);
  const key = (own ? device.serverKey : device.finalKey) ?? "";
  return backedUpAfter(known, its ? word : null, key, device.id, rawAt);
}
