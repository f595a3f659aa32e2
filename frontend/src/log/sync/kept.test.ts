import "fake-indexeddb/auto";
import { afterEach, describe, expect, it } from "vitest";
import { Database, type Meta } from "../db";
import { IN_THE_CLEAR } from "../hiding";
import type { Ranges } from "../ranges";
import { Kept } from "./kept";
import { NO_MEMORY } from "./memory";

let made = 0;
const open: Database[] = [];
afterEach(() => {
  for (const database of open.splice(0)) database.close();
});

/** A store with lines of ten letters at the sequences in `here`, of a chain that ends at `head`. */
async function stored(head: number, here: Ranges, memory: Partial<typeof NO_MEMORY> = {}): Promise<Kept> {
  const database = new Database(() => undefined, `kept-${made++}`);
  open.push(database);
  await database.run(async (db) => {
    const tx = db.transaction(["lines", "meta", "exchange"], "readwrite");
    const meta = tx.objectStore("meta");
    void meta.put({ id: "own" } as Meta["device"], "device");
    void meta.put({} as Meta["keys"], "keys");
    void meta.put({ seq: head, sha256: "" }, "head");
    void tx.objectStore("exchange").put({ ...NO_MEMORY, ...memory }, "sync");
    for (const [from, to] of here) {
      for (let seq = from; seq <= to; seq++) {
        const raw = `${seq}`.padStart(10, "0");
        void tx.objectStore("lines").add({ device: "own", seq, id: raw, case: null, form: "plain", raw });
      }
    }
    await tx.done;
  });
  return new Kept(database);
}

const seqs = (from: number, to: number): number[] =>
  Array.from({ length: to - from + 1 }, (_, i) => from + i);

describe("what is offered", () => {
  it("is every line that waits, in order, however many are read at once", async () => {
    const kept = await stored(1000, [[1, 1000]], { held: [[1, 3]], refused: [[500, 501]] });
    const outbox = await kept.outbox(1e6);
    expect(outbox?.rows.map(({ seq }) => seq)).toEqual([...seqs(4, 499), ...seqs(502, 1000)]);
    expect(outbox?.waiting).toBe(995);
    expect(await kept.waiting()).toBe(995);
  });

  it("is as much as the limit allows, at least one line", async () => {
    const kept = await stored(1000, [[1, 1000]]);
    expect((await kept.outbox(600 * 11))?.rows.map(({ seq }) => seq)).toEqual(seqs(1, 600));
    expect((await kept.outbox(600 * 11 - 1))?.rows).toHaveLength(599);
    const one = await kept.outbox(1);
    expect(one?.rows.map(({ seq }) => seq)).toEqual([1]);
    expect(one?.waiting).toBe(1000);
  });

  it("is what was read ahead, only while that is what comes first", async () => {
    const kept = await stored(1000, [[1, 1000]], { held: [[1, 3]], refused: [[700, 700]] });
    const limit = 100 * 11;
    const ahead = await kept.ahead(limit, [[4, 103]]);
    expect(ahead?.rows.map(({ seq }) => seq)).toEqual(seqs(104, 203));
    const first = await kept.outbox(limit, [], ahead ?? undefined);
    expect(first?.rows.map(({ seq }) => seq)).toEqual(seqs(4, 103)); // they still wait
    const next = await kept.outbox(limit, [[4, 103]], ahead ?? undefined);
    expect(next?.rows).toBe(ahead?.rows);
    expect(next?.waiting).toBe(1000 - 3 - 1 - 100);
    expect((await kept.outbox(limit - 1, [[4, 103]], ahead ?? undefined))?.rows).toHaveLength(99);
    const taken = await kept.outbox(limit, [[4, 110]], ahead ?? undefined); // some of them, by another way
    expect(taken?.rows.map(({ seq }) => seq)).toEqual(seqs(111, 210));
    const within = await kept.outbox(
      limit,
      [
        [4, 103],
        [150, 150],
      ],
      ahead ?? undefined,
    );
    expect(within?.rows.map(({ seq }) => seq)).toEqual([...seqs(104, 149), ...seqs(151, 204)]);
    expect(await kept.ahead(limit, [[4, 650]])).toBeNull(); // not in one piece
    expect(await kept.ahead(limit, [[1, 1000]])).toBeNull();
  });

  it("is read anew where lines are stored in another way than when it was read ahead", async () => {
    const kept = await stored(10, [[1, 10]]);
    const ahead = (await kept.ahead(1e6, [[1, 4]])) ?? undefined;
    (open.at(-1) as Database).hiding = { ...IN_THE_CLEAR };
    const next = await kept.outbox(1e6, [[1, 4]], ahead);
    expect(next?.rows).toEqual(ahead?.rows);
    expect(next?.rows).not.toBe(ahead?.rows);
  });

  it("counts only lines that are here, where the server has lost some that were cleared", async () => {
    const left: Ranges = [[301, 1000]]; // the first 300 were cleared, and are asked for again
    const kept = await stored(1000, left, { offeredAgain: 300, held: [[900, 1000]] });
    const outbox = await kept.outbox(1e6);
    expect(outbox?.rows.map(({ seq }) => seq)).toEqual(seqs(301, 899));
    expect(outbox?.waiting).toBe(599);
    expect(await kept.waiting()).toBe(599);
  });
});
