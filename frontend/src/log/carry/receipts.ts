/** The server's answer to a file of lines: read, proved, and what it changes. The same rules as for the answer to a
 * sync (SYNC.md): nothing is settled that was not in the file and is not named, and nothing is final beyond the
 * server's signed word. */
import type { CarriedRefusal, Fault, Receipts, ReceiptsSeal } from "../../types.gen";
import { base64, fromBase64, sha256 } from "../bytes";
import type { Row } from "../db";
import { readLine } from "../line";
import { common, fromNumbers, minus, normal, size, union } from "../ranges";
import { faultOf } from "../sync/fault";
import type { CarriedNote, SyncMemory } from "../sync/memory";
import { isSigned } from "../sync/proof";
import type { Taken } from "../sync/take";
import type { RefusedLine } from "../types";
import { FORMAT } from "./file";

const AGAIN = "Nothing was changed on this phone. Ask for the answer again.";

function objectOf(row: string | undefined): Record<string, unknown> | null {
  try {
    const value: unknown = JSON.parse(row ?? "");
    return typeof value === "object" && value !== null ? (value as Record<string, unknown>) : null;
  } catch {
    return null; // no JSON: whoever asks says what that means
  }
}

/** What a file is by its first row: lines on their way, an answer, or neither. */
export function kindOf(text: string): "carried" | "receipts" | null {
  const record = objectOf(text.split("\n", 1)[0])?.record;
  return record === "carried" || record === "receipts" ? record : null;
}

function isRefusal(value: unknown): value is CarriedRefusal {
  if (typeof value !== "object" || value === null) return false;
  const { id, seq, code, reason } = value as Record<string, unknown>;
  return (
    (id === null || typeof id === "string") &&
    (seq === null || Number.isSafeInteger(seq)) &&
    typeof code === "string" &&
    typeof reason === "string"
  );
}

function isReceipts(value: Record<string, unknown>): boolean {
  const { receipt } = value as { receipt?: Record<string, unknown> | null };
  return (
    ["server", "epoch", "device", "file"].every((name) => typeof value[name] === "string") &&
    Number.isSafeInteger(value.at) &&
    Array.isArray(value.taken) &&
    value.taken.every(
      (pair) => Array.isArray(pair) && pair.length === 2 && pair.every(Number.isSafeInteger),
    ) &&
    Array.isArray(value.refused) &&
    value.refused.every(isRefusal) &&
    receipt !== undefined &&
    (receipt === null ||
      (["server", "epoch", "device", "head_sha256", "signature"].every(
        (name) => typeof receipt[name] === "string",
      ) &&
        Number.isSafeInteger(receipt.seq) &&
        Number.isSafeInteger(receipt.at)))
  );
}

function isWrittenOneWay(text: unknown): text is string {
  try {
    return typeof text === "string" && base64(fromBase64(text)) === text;
  } catch {
    return false; // no base64 at all
  }
}

/** Whose word an answer may be, and for whom. */
export interface Reader {
  device: string;
  /** The final server's signing key. */
  key: string;
}

/** An answer that is whole, for this phone, and by its final server. */
export async function readReceipts(
  text: string,
  { device, key }: Reader,
): Promise<{ ok: true; said: Receipts } | { ok: false; fault: Fault }> {
  const no = (code: string, why: string): { ok: false; fault: Fault } => ({
    ok: false,
    fault: faultOf(code, "file", why),
  });
  const [row = "", second, ...rest] = text.replaceAll("\r\n", "\n").split("\n");
  const said = objectOf(row);
  const short = no("cut_short", `The answer was cut short on the way. ${AGAIN}`);
  if (!said && second === undefined && row.startsWith('{"record":"receipts"')) return short;
  if (said?.record !== "receipts") {
    return no("not_receipts", `This is no answer of a server, or its beginning was changed. ${AGAIN}`);
  }
  if (said.v !== FORMAT) {
    return no("unknown_format", "The answer is of a newer kind. Update this app, then open it again.");
  }
  if (second === undefined || rest.length === 0) return short;
  const seal = objectOf(second) as Partial<ReceiptsSeal> | null;
  const changed = no("damaged", `The answer was changed on the way. ${AGAIN}`);
  if (seal?.record !== "receipts_seal" || rest.some((one) => one.trim() !== "")) return changed;
  if ((await sha256(row)) !== seal.sha256 || !isReceipts(said)) return changed;
  // the last letter of base64 has bits that mean nothing: even they may not be changed unseen
  if (!isWrittenOneWay(seal.signature)) return changed;
  if (!(await isSigned(key, `chinrest receipts ${seal.sha256}`, seal.signature))) {
    return no(
      "not_signed",
      `The answer does not come from the server that this phone seals for. Nothing was changed on this phone.`,
    );
  }
  if (said.device !== device) {
    return no(
      "other_phone",
      "This answer is for another phone. Open it there; nothing was changed on this one.",
    );
  }
  return { ok: true, said: said as unknown as Receipts };
}

/** What this phone has to settle an answer with. */
export interface Ground {
  note: CarriedNote;
  /** The sequence up to which the server's receipt proves this phone's chain. */
  proven: number;
  /** What is known of its last backup after this answer, where it is the latest word. */
  backup: SyncMemory["backup"];
  /** Whether the phone exchanges with that server itself, and not with a hub before it. */
  direct: boolean;
  /** Its own lines that the answer refuses, by sequence. */
  rows: ReadonlyMap<number, Row>;
}

export interface Settled {
  taken: Taken;
  /** Lines that waited and no longer do. */
  settled: number;
}

/** Takes an answer in. Pure; `fault` where it is older than what the phone has heard since, and nothing is changed. */
export function settle(
  before: SyncMemory,
  said: Receipts,
  { note, proven, backup, direct, rows }: Ground,
): Settled {
  const named = common(normal(said.taken), note.lines);
  const files = before.files.map((file) => (file.file === note.file ? { ...file, takenAt: said.at } : file));
  const waited = minus(named, union(union(before.held, before.carried), before.refused));
  const result = (memory: SyncMemory, change: Partial<Taken> = {}): Settled => ({
    taken: { memory, refused: [], forgetRefused: false, pulled: [], fault: null, ...change },
    settled: size(waited),
  });
  // a hub goes on being offered them, so that its site's other phones see them; it says itself what it refuses
  if (!direct) return result({ ...before, files, carried: union(before.carried, named) });

  const anew = before.epoch !== null && (before.epoch !== said.epoch || before.server !== said.server);
  if (anew && before.server === said.server && said.at <= (before.serverNow ?? 0)) {
    const why =
      "The server was restored from a copy after it gave this answer, so it may lack these lines. They go on waiting; nothing was changed on this phone.";
    return { ...result(before, { fault: faultOf("outdated", "file", why) }), settled: 0 };
  }
  const upTo = proven < 1 ? [] : normal([[1, proven]]);
  const stillHeld = anew ? common(before.held, union(upTo, named)) : before.held;
  const held = union(stillHeld, named);
  const refused = said.refused.flatMap((line) => refusedLine(line, rows));
  const turnedDown = fromNumbers(refused.map((line) => line.seq));
  const later = said.at > (before.serverNow ?? 0);
  const memory: SyncMemory = {
    ...before,
    server: said.server,
    epoch: said.epoch,
    cursor: anew ? null : before.cursor,
    held,
    final: union(common(before.final, stillHeld), common(held, upTo)),
    refused: minus(union(anew ? [] : before.refused, turnedDown), named),
    files,
    offeredAgain: before.offeredAgain + size(before.held) - size(stillHeld),
    backup: later ? backup : before.backup,
    serverNow: later ? said.at : before.serverNow,
    receipt: later && said.receipt ? said.receipt : before.receipt,
  };
  return result(memory, { refused, forgetRefused: anew });
}

/** A refused line as the phone shows it; none where the answer names one that is not the phone's. */
function refusedLine(said: CarriedRefusal, rows: ReadonlyMap<number, Row>): RefusedLine[] {
  const row = said.seq === null ? undefined : rows.get(said.seq);
  if (!row || (said.id !== null && said.id !== row.id)) return [];
  const envelope = readLine(row.raw)?.envelope;
  const { id, seq, case: of } = row;
  return [
    {
      id,
      seq,
      case: of,
      type: envelope?.type ?? "",
      at: envelope?.at ?? 0,
      code: said.code,
      reason: said.reason,
    },
  ];
}
