/** The transactions of the log itself. Writes ask for strict durability and count as done on `complete` only. */
import type { IDBPObjectStore, StoreNames } from "idb";
import { timeOf } from "./bytes";
import type { Database, LogSchema, Meta, Row, StoredRow } from "./db";
import type { Hiding, StoredRefused } from "./hiding";
import { type Head, NO_HEAD, readLine } from "./line";
import { has } from "./ranges";
import { NO_MEMORY, type SyncMemory, settledOf } from "./sync/memory";
import { inTransaction } from "./tx";
import type { RefusedLine } from "./types";

const STRICT: IDBTransactionOptions = { durability: "strict" };

export interface Everything {
  device: Meta["device"] | null;
  head: Head;
  sync: SyncMemory;
  storage: Meta["storage"] | null;
  refused: RefusedLine[];
  /** Those that can be read now. */
  lines: Row[];
  /** The others: each line's place, and when it was written; that only of own lines that wait. */
  hidden: { device: string; seq: number; at: number }[];
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

type Lines = IDBPObjectStore<LogSchema, StoreNames<LogSchema>[], "lines">;

interface Found {
  /** Every line's place. */
  places: [string, number][];
  rows: StoredRow[];
}

async function allOf(lines: Lines): Promise<Found> {
  const rows = await lines.getAll();
  return { places: rows.map(({ device, seq }) => [device, seq]), rows };
}

/** Of the lines themselves only own ones, from the first that waits or that this page wrote: a locked phone has no use
 * for the others, and the more there are, the longer they took to read. */
async function waitingOf(
  lines: Lines,
  own: string,
  sync: SyncMemory,
  here: [string, number][],
): Promise<Found> {
  const places = await lines.getAllKeys();
  const settled = settledOf(sync);
  const waits = places.filter(([device, seq]) => device === own && !has(settled, seq));
  const first = Math.min(...[waits[0], ...here].map((place) => place?.[1] ?? Number.POSITIVE_INFINITY));
  const rows = await lines.getAll(IDBKeyRange.bound([own, first], [own, Infinity]));
  return { places, rows };
}

function without({ places, rows }: Found, read: readonly Row[]): Everything["hidden"] {
  if (read.length === places.length) return [];
  const shown = new Set(read.map(placed));
  const times = new Map(rows.map((row) => [placed(row), timeOf(row.id)]));
  const hidden = places
    .map(([device, seq]) => ({ device, seq }))
    .filter((place) => !shown.has(placed(place)));
  return hidden.map((place) => ({ ...place, at: times.get(placed(place)) ?? 0 }));
}

function placed({ device, seq }: { device: string; seq: number }): string {
  return `${device}/${seq}`;
}

export class Store {
  constructor(readonly database: Database) {}

  async everything(): Promise<Everything> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta", "exchange", "refused"]);
      const meta = tx.objectStore("meta");
      const lines = tx.objectStore("lines");
      const { hiding } = this.database;
      const here = hiding.here?.();
      const [device, head, known, storage, refused, all] = await Promise.all([
        meta.get("device") as Promise<Meta["device"] | undefined>,
        meta.get("head"),
        tx.objectStore("exchange").get("sync"),
        meta.get("storage"),
        tx.objectStore("refused").getAll(),
        here ? null : allOf(lines),
      ]);
      const sync = { ...NO_MEMORY, ...known };
      const found = all ?? (await waitingOf(lines, device?.id ?? "", sync, here ?? []));
      await tx.done;
      const read = await hiding.show(found.rows);
      return {
        device: device ?? null,
        head: (head as Head | undefined) ?? NO_HEAD,
        sync,
        storage: (storage as Meta["storage"] | undefined) ?? null,
        refused: await this.shownRefused(refused),
        lines: read,
        hidden: without(found, read),
      };
    });
  }

  async head(): Promise<Head> {
    return this.database.run(async (db) => ((await db.get("meta", "head")) as Head | undefined) ?? NO_HEAD);
  }

  /** What is remembered of the exchange, and the refused lines. */
  async exchange(): Promise<{ sync: SyncMemory; refused: RefusedLine[] }> {
    const found = await this.database.run(async (db) => {
      const tx = db.transaction(["exchange", "refused"]);
      const [sync, refused] = await Promise.all([
        tx.objectStore("exchange").get("sync"),
        tx.objectStore("refused").getAll(),
      ]);
      return { sync: { ...NO_MEMORY, ...sync }, refused };
    });
    return { ...found, refused: await this.shownRefused(found.refused) };
  }

  private async shownRefused(stored: StoredRefused[]): Promise<RefusedLine[]> {
    const { refusals } = this.database.hiding;
    if (!refusals || stored.length === 0) return stored;
    const own = (await this.get("device"))?.id ?? "";
    const shown: RefusedLine[] = [];
    for (const line of await refusals.show(stored)) {
      // what was refused while the phone was locked, nobody could read then
      const raw = line.type === "" ? (await this.line(own, line.seq))?.raw : undefined;
      shown.push({ ...line, type: (raw && readLine(raw)?.envelope.type) || line.type });
    }
    return shown;
  }

  /** Every line that only this phone holds, ascending: unsent and refused ones, as far as they can be read now. */
  async unsentLines(): Promise<Row[]> {
    const stored = await this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta", "exchange"]);
      const [device, sync] = await Promise.all([
        tx.objectStore("meta").get("device"),
        tx.objectStore("exchange").get("sync"),
      ]);
      const own = (device as Meta["device"] | undefined)?.id;
      if (own === undefined) return [];
      const all = await tx.objectStore("lines").getAll(IDBKeyRange.bound([own, 0], [own, Infinity]));
      const { held } = { ...NO_MEMORY, ...sync };
      return all.filter((row) => !has(held, row.seq));
    });
    return this.database.hiding.show(stored);
  }

  async line(device: string, seq: number): Promise<Row | undefined> {
    const stored = await this.database.run((db) => db.get("lines", [device, seq]));
    return stored && (await this.database.hiding.show([stored]))[0];
  }

  /** The device's lines that were written while the phone was locked, and what else it wrote in the same cases: there
   * it is said who wrote them. */
  async writtenLocked(device: string): Promise<{ written: StoredRow[]; beside: StoredRow[] }> {
    const own = IDBKeyRange.bound([device, 0], [device, Infinity]);
    const rows = await this.database.run((db) => db.getAll("lines", own));
    const written = rows.filter(({ form }) => form === "sealed");
    const cases = new Set(written.map((row) => row.case));
    return { written, beside: rows.filter((row) => row.form !== "sealed" && cases.has(row.case)) };
  }

  /** Puts a line and the new head in one transaction, if `from` is still the head and lines are still stored as this
   * one is made. With `also`, more of what the phone keeps about itself goes in with it. */
  async put(row: StoredRow, by: Hiding, from: Head, to: Head, also: Partial<Meta> = {}): Promise<Put> {
    return this.database.run(async (db) => {
      if (by !== this.database.hiding) return "stale";
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

  async set<K extends keyof Meta>(key: K, value: Meta[K]): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("meta", "readwrite", STRICT);
      return inTransaction(tx, () => tx.store.put(value, key));
    });
  }

  async get<K extends keyof Meta>(key: K): Promise<Meta[K] | undefined> {
    return this.database.run(async (db) => (await db.get("meta", key)) as Meta[K] | undefined);
  }

  /** A new token for a device that is enrolled already: its chain goes on, and it is shut out no longer. At another
   * site it asks from the beginning for what is open there: its cursor has passed that by. */
  async renew(device: Meta["device"], carrying: Meta["carrying"]): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction(["meta", "exchange"], "readwrite", STRICT);
      return inTransaction(tx, async () => {
        const exchange = tx.objectStore("exchange");
        const meta = tx.objectStore("meta");
        const memory = { ...NO_MEMORY, ...(await exchange.get("sync")), shut: null };
        const moved = ((await meta.get("device")) as Meta["device"] | undefined)?.site !== device.site;
        await exchange.put(moved ? { ...memory, cursor: null } : memory, "sync");
        await meta.put(device, "device");
        if (carrying) await meta.put(carrying, "carrying");
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
