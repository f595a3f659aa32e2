/** Keeping and clearing: asks the browser to keep the store, and says which old lines may go. */
import { has } from "./ranges";
import type { SyncMemory } from "./sync/memory";
import type { StorageView } from "./types";

export type StorageAnswer = NonNullable<StorageView["answer"]>;
export const ASK_LIMIT_MS = 5_000;
/** Asked again after a day: the browsers' rules change with use (installed, visited often). */
export const ASK_AGAIN_MS = 24 * 3_600_000;

type Manager = Partial<Pick<StorageManager, "persist" | "persisted" | "estimate">>;

/** At most `ms` for an answer: one browser waits here for a prompt that nobody has seen. */
async function within<T>(ms: number, work: Promise<T>, otherwise: T): Promise<T> {
  let handle: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<T>((resolve) => {
    handle = setTimeout(() => resolve(otherwise), ms);
  });
  try {
    return await Promise.race([work, late]);
  } finally {
    clearTimeout(handle);
  }
}

export async function askToKeep(
  manager: Manager | undefined,
  limitMs: number = ASK_LIMIT_MS,
): Promise<StorageAnswer> {
  const { persist, persisted } = manager ?? {};
  if (!manager || !persist) return "absent";
  const ask = async (): Promise<StorageAnswer> => {
    if (persisted && (await persisted.call(manager))) return "granted";
    return (await persist.call(manager)) ? "granted" : "refused";
  };
  return within<StorageAnswer>(limitMs, ask(), "no_answer");
}

export async function room(
  manager: Manager | undefined,
  limitMs: number = ASK_LIMIT_MS,
): Promise<{ usage: number | null; quota: number | null }> {
  const { estimate } = manager ?? {};
  if (!manager || !estimate) return { usage: null, quota: null };
  const told = await within<StorageEstimate>(limitMs, estimate.call(manager), {});
  return { usage: told.usage ?? null, quota: told.quota ?? null };
}

export interface OldCase {
  state: "open" | "closed";
  closedAt: number | null;
  lastAt: number;
  lines: readonly { device: string; seq: number }[];
}

/** Whether a case may leave the phone: closed, every own line acknowledged by a final server and under its last backup,
 * and old enough by the phone's clock *and* by the server's last word, so that a clock that jumps ahead clears nothing. */
export function mayGo(
  of: OldCase,
  own: string | null,
  memory: SyncMemory,
  now: number,
  keepDays: number,
): boolean {
  if (of.state !== "closed" || of.closedAt === null || memory.serverNow === null) return false;
  if (!(keepDays >= 0)) return false;
  const since = Math.min(now, memory.serverNow) - Math.max(of.closedAt, of.lastAt);
  if (since < keepDays * 86_400_000) return false;
  const backedUpTo = memory.backup?.stands ? memory.backup.seq : 0;
  return of.lines.every(({ device, seq }) => device !== own || (has(memory.final, seq) && seq <= backedUpTo));
}
