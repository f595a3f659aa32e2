/** Joins log and shelf: what the server said about guidance goes to the shelf, what the shelf decided to the log. */
import { effect, signal } from "@preact/signals";
import { type CaseState, isOnlyReaction, type Log } from "../log";
import type { Shelf } from "../pack";
import type { SyncAnswer } from "../types.gen";
import { tidyDrafts } from "./drafts";

const DAY_MS = 86_400_000;

/** Why the newest guidance could not be fetched, in words; null after a good try. */
export const packTrouble = signal<string | null>(null);

/** Cases that this phone is in the middle of: open, held here, and not handed to someone else. A reaction that was
 * opened with no case is none. */
export function casesInHand(cases: readonly CaseState[], device: string | null): CaseState[] {
  return cases.filter(
    (c) => c.state === "open" && c.heldBy === device && c.handedTo === null && !isOnlyReaction(c),
  );
}

/** Returns how to take the two apart again. */
export function wire(log: Log, shelf: Shelf): () => void {
  const fetchPack = async (sha256: string): Promise<Uint8Array> => {
    const response = await log.request(`/api/packs/${sha256}`);
    if (!response.ok) throw new Error(`the server answered ${response.status} for the guidance`);
    return new Uint8Array(await response.arrayBuffer());
  };

  const hear = async (answer: SyncAnswer): Promise<void> => {
    await shelf.recalls(answer.recalls);
    if (answer.pack === null) return;
    try {
      await shelf.offer(answer.pack, () => fetchPack(answer.pack as string));
      packTrouble.value = null;
    } catch (error) {
      packTrouble.value = error instanceof Error ? error.message : String(error);
    }
  };

  const undo = [
    log.onAnswer((answer) => void hear(answer)),
    shelf.onVerdict((verdict) => {
      const where = { case: null, practice: false, pack: verdict.sha256 };
      const written = verdict.taken
        ? log.append("pack.taken", { sha256: verdict.sha256, vectors: verdict.vectors }, where)
        : log.append("pack.refused", { sha256: verdict.sha256, faults: verdict.faults }, where);
      // a write that failed has already raised the blocking screen; the pack itself is safe on the shelf
      written.catch((error: unknown) => {
        packTrouble.value = error instanceof Error ? error.message : String(error);
      });
    }),
    // a new pack takes over between cases, never within one
    effect(() => {
      const waits = shelf.waiting.value;
      const inHand = casesInHand(log.cases.value, log.device.value?.id ?? null);
      // a locked phone does not see every case that it is in the middle of
      if (waits && inHand.length === 0 && log.lockView.value.state !== "locked") void shelf.changeOver();
    }),
  ];

  const tidy = async (): Promise<void> => {
    if (log.lockView.peek().state === "locked") return; // it can't see what is in use
    const keepDays = shelf.current.peek()?.pack.thresholds.keep_days;
    if (keepDays !== undefined) await log.clearOld(Date.now(), keepDays);
    const inUse = log.cases.peek().flatMap((c) => c.entries.flatMap((e) => (e.pack ? [e.pack] : [])));
    await shelf.tidy(inUse);
    tidyDrafts(log.cases.peek().map((c) => c.id));
  };
  const tidySoon = (): void => {
    // tidying is housekeeping: when the store cannot do it now, nothing is lost and the next day tries again
    tidy().catch((error: unknown) => console.warn("tidying put off:", error));
  };
  const first = setTimeout(tidySoon, 10_000);
  const daily = setInterval(tidySoon, DAY_MS);
  return () => {
    clearTimeout(first);
    clearInterval(daily);
    for (const stop of undo) stop();
  };
}
