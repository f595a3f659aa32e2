/** Takes a server's answer in: what is acknowledged, refused, offered again, and how far was pulled. Pure. */
import type { Fault, SyncAnswer } from "../../types.gen";
import { timeOf } from "../bytes";
import type { Row } from "../db";
import type { Outgoing } from "../hiding";
import { readLine } from "../line";
import { common, fromNumbers, minus, normal, size, union } from "../ranges";
import type { RefusedLine } from "../types";
import type { SyncMemory } from "./memory";

/** A batch, as far as its answer needs it. */
export interface Sent {
  rows: readonly Outgoing[];
  headSha256: string;
}

export interface Taken {
  memory: SyncMemory;
  refused: RefusedLine[];
  /** True in a new epoch: earlier refusals were another database's word. */
  forgetRefused: boolean;
  pulled: Row[];
  fault: Fault | null;
}

const ACKNOWLEDGED = new Set<string>(["stored", "repeat", "waiting"]);

export function rowOf(raw: string): Row | null {
  const line = readLine(raw);
  if (!line) return null;
  const { device, seq, id, case: of } = line.envelope;
  return { device, seq, id, case: of ?? null, form: "plain", raw };
}

function refusedLine(
  { id, seq, case: of, raw }: Outgoing,
  { code, reason }: SyncAnswer["lines"][number],
): RefusedLine {
  const { type = "", at = timeOf(id) } = readLine(raw)?.envelope ?? {};
  const why = { code: code ?? "refused", reason: reason ?? "no reason given" };
  return { id, seq, case: of, type, at, ...why };
}

export function take(
  before: SyncMemory,
  own: string,
  { rows: sent, headSha256 }: Sent,
  answer: SyncAnswer,
  now: number,
  /** The sequence up to which a final server has proved that it holds this phone's chain; see `provenBy`. */
  proven: number,
  /** What is known of that server's last backup; see `backupBy`. */
  backup: SyncMemory["backup"] = null,
): Taken {
  const anew = before.epoch !== null && (before.epoch !== answer.epoch || before.server !== answer.server);
  const holds = normal(answer.holds);
  // Only what an answer named is acknowledged; `holds` can take that back, never give it.
  const stillHeld = common(before.held, holds);
  const stillFinal = common(before.final, stillHeld);
  const lost = size(before.held) - size(stillHeld);

  // The head of the batch stands for every line of one run, and names them all at once. Another hash names nothing.
  const all = answer.taken === headSha256;
  const byId = new Map(all ? [] : sent.map((line) => [line.id, line]));
  const acknowledged = all ? sent.map(({ seq }) => seq) : [];
  const refused: RefusedLine[] = [];
  for (const said of all ? [] : answer.lines) {
    if (said.status === "refused") {
      // a line too broken to name is known by its place in the batch
      const line = said.id === null ? sent[said.index] : byId.get(said.id);
      if (line) refused.push(refusedLine(line, said));
    } else if (ACKNOWLEDGED.has(said.status) && said.id !== null) {
      const line = byId.get(said.id);
      if (line) acknowledged.push(line.seq);
    }
  }
  const named = fromNumbers(acknowledged);
  const turnedDown = fromNumbers(refused.map((line) => line.seq));

  const backwards = !anew && before.cursor !== null && answer.cursor < before.cursor;
  const rows = answer.pulled.map(rowOf);
  const memory: SyncMemory = {
    server: answer.server,
    epoch: answer.epoch,
    cursor: backwards ? before.cursor : answer.cursor,
    held: union(stillHeld, named),
    // no further than a final server's signed word reaches
    final: union(stillFinal, common(union(stillHeld, named), proven < 1 ? [] : [[1, proven]])),
    backup,
    refused: minus(union(anew ? [] : before.refused, turnedDown), named),
    carried: before.carried,
    files: before.files,
    offeredAgain: before.offeredAgain + lost,
    heardAt: now,
    serverNow: answer.now,
    clockOffsetMs: now - answer.now,
    serverApp: answer.app,
    takesShort: answer.takes_short === true,
    unreadable: before.unreadable + rows.filter((row) => row === null).length,
    receipt: answer.receipt ?? before.receipt,
    shut: null,
  };
  const fault: Fault | null = backwards
    ? {
        code: "cursor_backwards",
        where: "cursor",
        why: `the server's position went back from ${before.cursor} to ${answer.cursor}; the phone stays at its own`,
      }
    : null;
  // what the phone wrote itself is never taken from outside: its own chain has one source
  const pulled = rows.filter((row): row is Row => row !== null && row.device !== own);
  return { memory, refused, forgetRefused: anew, pulled, fault };
}

function isPair(value: unknown): value is [number, number] {
  return Array.isArray(value) && value.length === 2 && value.every((n) => typeof n === "number");
}

function isLineAnswer(value: unknown): boolean {
  if (typeof value !== "object" || value === null) return false;
  const { index, id, status } = value as Record<string, unknown>;
  return typeof index === "number" && (id === null || typeof id === "string") && typeof status === "string";
}

/** An answer counts only when it has the whole shape: a captive portal's page with status 200 doesn't. */
export function isAnswer(value: unknown): value is SyncAnswer {
  if (typeof value !== "object" || value === null) return false;
  const a = value as Record<string, unknown>;
  return (
    typeof a.server === "string" &&
    typeof a.epoch === "string" &&
    (a.kind === "final" || a.kind === "hub") &&
    Number.isFinite(a.now) &&
    typeof a.app === "string" &&
    Array.isArray(a.lines) &&
    a.lines.every(isLineAnswer) &&
    Array.isArray(a.holds) &&
    a.holds.every(isPair) &&
    Number.isSafeInteger(a.cursor) &&
    Array.isArray(a.pulled) &&
    a.pulled.every((line) => typeof line === "string") &&
    typeof a.more === "boolean" &&
    (a.pack === null || typeof a.pack === "string") &&
    Array.isArray(a.recalls)
  );
}
