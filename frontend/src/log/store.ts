/** Every transaction of the log. Writes ask for strict durability and count as done on `complete` only. */
import type { Database, Meta, Row } from "./db";
import { type Head, NO_HEAD } from "./line";
import { has, minus, type Ranges, union } from "./ranges";
import { NO_MEMORY, type SyncMemory } from "./sync/memory";
import type { Taken } from "./sync/take";
import { inTransaction } from "./tx";
import type { RefusedLine } from "./types";

const STRICT: IDBTransactionOptions = { durability: "strict" };

export interface Everything {
  device: Meta["device"] | null;
  head: Head;
  sync: SyncMemory;
  storage: Meta["storage"] | null;
  refused: RefusedLine[];
  lines: Row[];
}

export interface Outbox {
  device: Meta["device"];
  keys: CryptoKeyPair;
  sync: SyncMemory;
  /** Lines to offer, ascending, as many as fit in the byte limit, at least one if there is any. */
  rows: Row[];
  /** All lines that wait, those of this batch included. */
  waiting: number;
}

/** Result of trying to put a line after `head`: `stale` when another tab had got there first. */
export type Put = "saved" | "stale";

// A request's own error is also the transaction's, and is heard there.
const heardThere = (): undefined => undefined;

/** Another tab has written since: the head is another. */
class Moved extends Error {
  constructor(readonly head: Head) {
    super("the head has moved");
  }
}

function sameHead(a: Head, b: Head): boolean {
  return a.seq === b.seq && a.sha256 === b.sha256;
}

/** Sequences of the phone's own lines that were neither acknowledged nor refused. */
export function unsent(head: Head, sync: SyncMemory): Ranges {
  return head.seq < 1 ? [] : minus([[1, head.seq]], union(sync.held, sync.refused));
}

export class Store {
  constructor(readonly database: Database) {}

  async everything(): Promise<Everything> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta", "refused"]);
      const meta = tx.objectStore("meta");
      const [device, head, sync, storage, refused, lines] = await Promise.all([
        meta.get("device"),
        meta.get("head"),
        meta.get("sync"),
        meta.get("storage"),
        tx.objectStore("refused").getAll(),
        tx.objectStore("lines").getAll(),
        tx.done,
      ]);
      return {
        device: (device as Meta["device"] | undefined) ?? null,
        head: (head as Head | undefined) ?? NO_HEAD,
        sync: { ...NO_MEMORY, ...(sync as SyncMemory | undefined) },
        storage: (storage as Meta["storage"] | undefined) ?? null,
        refused,
        lines,
      };
    });
  }

  async head(): Promise<Head> {
    return this.database.run(async (db) => ((await db.get("meta", "head")) as Head | undefined) ?? NO_HEAD);
  }

  /** What is remembered of the exchange, and the refused lines. */
  async exchange(): Promise<{ sync: SyncMemory; refused: RefusedLine[] }> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["meta", "refused"]);
      const [sync, refused] = await Promise.all([
        tx.objectStore("meta").get("sync"),
        tx.objectStore("refused").getAll(),
      ]);
      return { sync: { ...NO_MEMORY, ...(sync as SyncMemory | undefined) }, refused };
    });
  }

  /** Every line that only this phone holds, ascending: unsent and refused ones. */
  async unsentLines(): Promise<Row[]> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta"]);
      const meta = tx.objectStore("meta");
      const [device, sync] = await Promise.all([meta.get("device"), meta.get("sync")]);
      const own = (device as Meta["device"] | undefined)?.id;
      if (own === undefined) return [];
      const all = await tx.objectStore("lines").getAll(IDBKeyRange.bound([own, 0], [own, Infinity]));
      const { held } = { ...NO_MEMORY, ...(sync as SyncMemory | undefined) };
      return all.filter((row) => !has(held, row.seq));
    });
  }

  async line(device: string, seq: number): Promise<Row | undefined> {
    return this.database.run((db) => db.get("lines", [device, seq]));
  }

  /** Puts a line and the new head in one transaction, if `from` is still the head. With `also`, more of what the
   * phone keeps about itself goes in with it. */
  async put(row: Row, from: Head, to: Head, also: Partial<Meta> = {}): Promise<Put> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta"], "readwrite", STRICT);
      const meta = tx.objectStore("meta");
      return inTransaction(tx, async () => {
        // All requests leave together: one trip to the database instead of one after the other.
        const stands = meta.get("head");
        stands.catch(heardThere);
        tx.objectStore("lines").add(row).catch(heardThere);
        meta.put(to, "head").catch(heardThere);
        for (const [key, value] of Object.entries(also)) meta.put(value, key as keyof Meta).catch(heardThere);
        const now = ((await stands) as Head | undefined) ?? NO_HEAD;
        if (!sameHead(now, from)) throw new Moved(now);
        tx.commit();
        return "saved" as const;
      }).catch((error: unknown) => {
        if (!(error instanceof Moved)) throw error;
        // Second run after a lost connection: the first one had been written after all.
        return sameHead(error.head, to) ? "saved" : "stale";
      });
    });
  }

  async outbox(limitBytes: number): Promise<Outbox | null> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta"]);
      const meta = tx.objectStore("meta");
      const [device, keys, head, memory] = await Promise.all([
        meta.get("device"),
        meta.get("keys"),
        meta.get("head"),
        meta.get("sync"),
      ]);
      if (!device || !keys) return null;
      const own = device as Meta["device"];
      const sync = { ...NO_MEMORY, ...(memory as SyncMemory | undefined) };
      const rows: Row[] = [];
      let bytes = 0;
      let waiting = 0;
      let full = false;
      const lines = tx.objectStore("lines");
      for (const [from, to] of unsent((head as Head | undefined) ?? NO_HEAD, sync)) {
        const range = IDBKeyRange.bound([own.id, from], [own.id, to]);
        waiting += await lines.count(range);
        let cursor = full ? null : await lines.openCursor(range);
        while (cursor && !full) {
          // counted in text units: almost all of a line is ASCII, and the server says when a batch is too large
          bytes += cursor.value.raw.length + 1;
          full = rows.length > 0 && bytes > limitBytes;
          if (!full) {
            rows.push(cursor.value);
            cursor = await cursor.continue();
          }
        }
      }
      return { device: own, keys: keys as CryptoKeyPair, sync, rows, waiting };
    });
  }

  /** Stores an answer: acknowledgements, refusals, pulled lines and cursor in one transaction. `work` is given the
   * memory as it stands in the store. Returns what was taken, the new lines among the pulled, and what still waits. */
  async answer(
    work: (before: SyncMemory) => Taken,
  ): Promise<{ taken: Taken; fresh: Row[]; waiting: number }> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta", "refused"], "readwrite", STRICT);
      const meta = tx.objectStore("meta");
      const lines = tx.objectStore("lines");
      const refused = tx.objectStore("refused");
      return inTransaction(tx, async () => {
        const [memory, head, device] = await Promise.all([
          meta.get("sync"),
          meta.get("head"),
          meta.get("device"),
        ]);
        const taken = work({ ...NO_MEMORY, ...(memory as SyncMemory | undefined) });
        await meta.put(taken.memory, "sync");
        if (taken.forgetRefused) await refused.clear();
        for (const line of taken.refused) await refused.put(line);
        const fresh: Row[] = [];
        for (const row of taken.pulled) {
          // what stands is never written over: the first of two branches stays
          if ((await lines.getKey([row.device, row.seq])) === undefined) {
            await lines.add(row);
            fresh.push(row);
          }
        }
        let waiting = 0;
        const own = (device as Meta["device"] | undefined)?.id;
        if (own !== undefined) {
          for (const [from, to] of unsent((head as Head | undefined) ?? NO_HEAD, taken.memory)) {
            waiting += await lines.count(IDBKeyRange.bound([own, from], [own, to]));
          }
        }
        return { taken, fresh, waiting };
      });
    });
  }

  async set<K extends keyof Meta>(key: K, value: Meta[K]): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("meta", "readwrite", STRICT);
      return inTransaction(tx, () => tx.store.put(value, key));
    });
  }

  async get<K extends keyof Meta>(key: K): Promise<Meta[K] | undefined> {
    return this.database.run(async (db) => (await db.get("meta", key)) as Meta[K] | undefined);
  }

  /** Changes what is remembered of the exchange, read and written in one transaction. */
  async remember(change: (before: SyncMemory) => SyncMemory): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("meta", "readwrite", STRICT);
      return inTransaction(tx, async () => {
        const before = (await tx.store.get("sync")) as SyncMemory | undefined;
        await tx.store.put(change({ ...NO_MEMORY, ...before }), "sync");
      });
    });
  }

  /** A new token for a device that is enrolled already: its chain goes on, and it is shut out no longer. */
  async renew(device: Meta["device"]): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("meta", "readwrite", STRICT);
      return inTransaction(tx, async () => {
        const before = (await tx.store.get("sync")) as SyncMemory | undefined;
        await tx.store.put({ ...NO_MEMORY, ...before, shut: null }, "sync");
        await tx.store.put(device, "device");
      });
    });
  }

  async remove(keys: readonly [string, number][]): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("lines", "readwrite", STRICT);
      return inTransaction(tx, () => Promise.all(keys.map((key) => tx.store.delete(key))));
    });
  }
}
