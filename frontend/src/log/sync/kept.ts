/** The transactions of the exchange with the server.
 *
 * They keep to stores of their own wherever they can, and don't ask for strict durability: what they hold can be had
 * from the server again (a lost acknowledgement is offered again and answered with `repeat`), and a tap must not wait
 * behind them. What arrives with one answer is still one transaction. */
import type { Database, Meta, Row, StoredRow } from "../db";
import type { Hiding, Sending, StoredRefused } from "../hiding";
import { type Head, NO_HEAD } from "../line";
import { fromNumbers, minus, type Ranges, union } from "../ranges";
import { inTransaction } from "../tx";
import { NO_MEMORY, type SyncMemory } from "./memory";
import { rowOf, type Taken } from "./take";

const RELAXED: IDBTransactionOptions = { durability: "relaxed" };

export interface Outbox extends Sending {
  device: Meta["device"];
  /** What the request is made by. */
  token: string;
  keys: CryptoKeyPair;
  sync: SyncMemory;
  /** Lines to offer, ascending, as many as fit in the byte limit, at least one if any can be sent. */
  rows: Sending["rows"];
  /** All lines that wait, those of this batch included. */
  waiting: number;
}

/** What comes after a batch, read while its answer is awaited: it is sent next only where it is then still what comes
 * first. */
export interface Ahead extends Outbox {
  range: Ranges[number];
  limitBytes: number;
  /** How lines were stored then. */
  hiding: Hiding;
}

/** Lines read in one go: one by one, the trips to the database cost more than the lines. After the first ones as many as
 * there is likely to be room for. */
const READ_AT_ONCE = 256;

/** Sequences of the phone's own lines that were neither acknowledged nor refused. */
function unsent(head: Head | undefined, sync: SyncMemory): Ranges {
  const { seq } = head ?? NO_HEAD;
  return seq < 1 ? [] : minus([[1, seq]], union(sync.held, sync.refused));
}

/** In text units: almost all of a line is ASCII, and the server says when a batch is too large. */
function lengthOf(row: StoredRow): number {
  return row.form === "plain" ? row.raw.length : (row.out?.length ?? row.text.length);
}

function known<K, V>(among: ReadonlyMap<K, V>, key: K): V {
  const found = among.get(key);
  if (found === undefined) throw new Error("what is stored is not what came");
  return found;
}

/** How many lines of a range that waits are here. They all are, unless an acknowledgement was ever taken back: only what
 * was acknowledged may have been cleared, and the browser takes its time to count ten thousand. */
function countOf(
  lines: { count(range: IDBKeyRange): Promise<number> },
  own: string,
  [from, to]: Ranges[number],
  { offeredAgain }: SyncMemory,
): Promise<number> {
  if (offeredAgain === 0) return Promise.resolve(to - from + 1);
  return lines.count(IDBKeyRange.bound([own, from], [own, to]));
}

export class Kept {
  constructor(private readonly database: Database) {}

  /** What comes next once these lines are taken; null where nothing does, or not in one piece. */
  async ahead(limitBytes: number, sent: Ranges): Promise<Ahead | null> {
    const { hiding } = this.database;
    const outbox = await this.outbox(limitBytes, sent);
    if (!outbox) return null;
    const [range, ...others] = fromNumbers(outbox.rows.map(({ seq }) => seq));
    if (!range || others.length > 0) return null;
    return { ...outbox, range, limitBytes, hiding };
  }

  /** `skip`: sequences that are not asked for now. `ahead`: not read again where it is what comes first (then it is the
   * batch itself). */
  async outbox(limitBytes: number, skip: Ranges = [], ahead?: Ahead): Promise<Outbox | null> {
    const found = await this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta", "exchange"]);
      const meta = tx.objectStore("meta");
      const [device, keys, head, memory] = await Promise.all([
        meta.get("device"),
        meta.get("keys"),
        meta.get("head"),
        tx.objectStore("exchange").get("sync"),
      ]);
      if (!device || !keys) return null;
      const own = device as Meta["device"];
      const sync = { ...NO_MEMORY, ...memory };
      const stored: StoredRow[] = [];
      let bytes = 0;
      let waiting = 0;
      const lines = tx.objectStore("lines");
      const wanted = minus(unsent(head as Head | undefined, sync), skip);
      const made =
        ahead !== undefined &&
        ahead.hiding === this.database.hiding &&
        ahead.device.id === own.id &&
        ahead.limitBytes <= limitBytes &&
        wanted[0]?.[0] === ahead.range[0] &&
        wanted[0][1] >= ahead.range[1];
      let full = made;
      for (const [from, to] of wanted) {
        waiting += await countOf(lines, own.id, [from, to], sync);
        for (let next = from; !full && next <= to; ) {
          const range = IDBKeyRange.bound([own.id, next], [own.id, to]);
          const room = Math.ceil(((limitBytes - bytes) * stored.length) / bytes) + 8;
          const many = bytes > 0 ? room : READ_AT_ONCE;
          const part = await lines.getAll(range, many);
          for (const row of part) {
            bytes += lengthOf(row) + 1;
            full = stored.length > 0 && bytes > limitBytes;
            if (full) break;
            stored.push(row);
          }
          next = part.length < many ? to + 1 : (part[part.length - 1] as StoredRow).seq + 1;
        }
      }
      return {
        device: own,
        keys: keys as CryptoKeyPair,
        sync,
        stored,
        waiting,
        made: made ? ahead : undefined,
      };
    });
    if (!found) return null;
    const { stored, made, ...rest } = found;
    const { rows, sealed, headSha256 } = made ?? (await this.database.hiding.send(stored));
    const token = await this.database.tokenOf(rest.device);
    return { ...rest, token, rows, sealed, headSha256 };
  }

  /** A line that is here and can be read now. */
  async line(device: string, seq: number): Promise<Row | null> {
    const stored = await this.database.run((db) => db.get("lines", [device, seq]));
    return (stored && (await this.database.hiding.show([stored]))[0]) ?? null;
  }

  /** A line's own bytes; null where it is not here, or can't be read now. */
  async raw(device: string, seq: number): Promise<string | null> {
    return (await this.line(device, seq))?.raw ?? null;
  }

  /** How many of the phone's own lines wait. */
  async waiting(): Promise<number> {
    return this.database.run(async (db) => {
      const tx = db.transaction(["lines", "meta", "exchange"]);
      const meta = tx.objectStore("meta");
      const [device, head, memory] = await Promise.all([
        meta.get("device"),
        meta.get("head"),
        tx.objectStore("exchange").get("sync"),
      ]);
      if (!device) return 0;
      const own = (device as Meta["device"]).id;
      const sync = { ...NO_MEMORY, ...memory };
      const counts = unsent(head as Head | undefined, sync).map((range) =>
        countOf(tx.objectStore("lines"), own, range, sync),
      );
      return (await Promise.all(counts)).reduce((sum, count) => sum + count, 0);
    });
  }

  /** Stores an answer: acknowledgements, refusals, pulled lines and cursor in one transaction, which touches the
   * log's own lines only when there are pulled ones (`pulled`: as they came). `work` is given the memory as it stands
   * in the store. */
  async answer(
    pulled: readonly string[],
    work: (before: SyncMemory) => Taken,
  ): Promise<{ taken: Taken; fresh: Row[]; before: SyncMemory }> {
    for (;;) {
      const { hiding } = this.database;
      const stored = new Map<string, StoredRow>();
      for (const raw of pulled) {
        const row = rowOf(raw);
        if (row) stored.set(raw, await hiding.hide(row));
      }
      const refused = new Map<number, StoredRefused>();
      // which are refused hangs on the answer alone, not on what is remembered
      for (const line of hiding.refusals ? work(NO_MEMORY).refused : []) {
        refused.set(line.seq, (await hiding.refusals?.hide(line)) ?? line);
      }
      const done = await this.stored(hiding, stored, refused, work);
      if (done) return done;
    }
  }

  /** Null, and nothing written, where lines are stored in another way than these by now. */
  private async stored(
    hiding: Hiding,
    pulled: ReadonlyMap<string, StoredRow>,
    refusals: ReadonlyMap<number, StoredRefused>,
    work: (before: SyncMemory) => Taken,
  ): Promise<{ taken: Taken; fresh: Row[]; before: SyncMemory } | null> {
    return this.database.run((db) => {
      if (hiding !== this.database.hiding) return Promise.resolve(null);
      const tx = db.transaction(
        pulled.size > 0 ? ["exchange", "refused", "lines"] : ["exchange", "refused"],
        "readwrite",
        RELAXED,
      );
      return inTransaction(tx, async () => {
        const before = { ...NO_MEMORY, ...(await tx.objectStore("exchange").get("sync")) };
        const taken = work(before);
        await tx.objectStore("exchange").put(taken.memory, "sync");
        const refused = tx.objectStore("refused");
        if (taken.forgetRefused) await refused.clear();
        for (const line of taken.refused)
          await refused.put(hiding.refusals ? known(refusals, line.seq) : line);
        const fresh: Row[] = [];
        for (const row of taken.pulled) {
          const lines = tx.objectStore("lines");
          const hidden = known(pulled, row.raw);
          // what stands is never written over: the first of two branches stays
          if ((await lines.getKey([row.device, row.seq])) === undefined) {
            await lines.add(hidden);
            fresh.push(row);
          }
        }
        return { taken, fresh, before };
      });
    });
  }

  /** The server has shut this phone out. */
  async shut(how: SyncMemory["shut"]): Promise<void> {
    await this.database.run((db) => {
      const tx = db.transaction("exchange", "readwrite", RELAXED);
      return inTransaction(tx, async () => {
        await tx.store.put({ ...NO_MEMORY, ...(await tx.store.get("sync")), shut: how }, "sync");
      });
    });
  }
}
