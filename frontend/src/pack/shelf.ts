/** The shelf: which packs this phone holds, which one guides, which one waits. */
import { type Signal, signal } from "@preact/signals";
import type { Pack, Recall } from "../types.gen";
import { PackStore, type Slots } from "./db";
import { parsePack } from "./parse";
import type { Held, RefusedPack, Shelf, Verdict } from "./types";

const STRICT: IDBTransactionOptions = { durability: "strict" };
const NO_SLOTS: Slots = { current: null, waiting: null };

class OpenShelf implements Shelf {
  readonly current: Signal<Held | null> = signal(null);
  readonly waiting: Signal<Held | null> = signal(null);
  readonly recall: Signal<Recall | null> = signal(null);
  readonly recalled: Signal<ReadonlyMap<string, Recall>> = signal(new Map());
  readonly refused: Signal<RefusedPack[]> = signal([]);

  private readonly store: PackStore;
  private readonly packs = new Map<string, Pack>();
  private readonly offers = new Map<string, Promise<void>>();
  private readonly listeners = new Set<(verdict: Verdict) => void>();
  private readonly channel: BroadcastChannel | null;
  /** Packs refused since the app started. A later start tries once more: a newer app may read what this one can't. */
  private readonly tried = new Set<string>();

  constructor(database?: string) {
    this.store = new PackStore(database);
    this.channel =
      typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel(database ?? "chinrest-pack");
    if (this.channel) {
      this.channel.onmessage = () => {
        // another tab's news; should the store be closing, the next start reads them
        this.load().catch(() => undefined);
      };
    }
  }

  async load(): Promise<void> {
    const { slots, recalls, refused } = await this.store.run(async (db) => {
      const tx = db.transaction(["slots", "recalls", "refused"]);
      const [slots, recalls, refused] = await Promise.all([
        tx.objectStore("slots").get("slots"),
        tx.objectStore("recalls").getAll(),
        tx.objectStore("refused").getAll(),
      ]);
      return { slots: slots ?? NO_SLOTS, recalls, refused };
    });
    this.refused.value = refused;
    this.recalled.value = new Map(recalls.map((recall) => [recall.sha256, recall]));
    this.current.value = slots.current === null ? null : await this.packFor(slots.current);
    this.waiting.value = slots.waiting === null ? null : await this.packFor(slots.waiting);
    this.showRecall();
  }

  async packFor(sha256: string): Promise<Held | null> {
    const known = this.packs.get(sha256);
    if (known) return { sha256, pack: known };
    const row = await this.store.run((db) => db.get("packs", sha256));
    if (!row) return null;
    const pack = parsePack(row.bytes);
    this.packs.set(sha256, pack);
    return { sha256, pack };
  }

  /** Every answer of the server names the pack in force; the same one is only fetched once. */
  offer(sha256: string, fetchBytes: () => Promise<Uint8Array>): Promise<void> {
    const under = this.offers.get(sha256);
    if (under) return under;
    const offer = this.takeIn(sha256, fetchBytes).finally(() => this.offers.delete(sha256));
    this.offers.set(sha256, offer);
    return offer;
  }

  private async takeIn(sha256: string, fetchBytes: () => Promise<Uint8Array>): Promise<void> {
    if (this.waiting.peek()?.sha256 === sha256) return;
    if (this.current.peek()?.sha256 === sha256) {
      // the server has gone back to the pack in use: one that was waiting no longer is in force
      if (this.waiting.peek()) await this.setSlots((slots) => ({ ...slots, waiting: null }));
      return;
    }
    if (this.tried.has(sha256)) return; // the same bytes, the same faults
    if (this.recalled.peek().has(sha256)) return; // a recall does not end
    if (await this.packFor(sha256)) {
      await this.setSlots((slots) => ({ ...slots, waiting: sha256 }));
      return;
    }
    const bytes = await fetchBytes();
    const { prove } = await import("./prove"); // only a new pack needs it
    const proof = await prove(sha256, bytes);
    if (!proof.ok) {
      // what was cut or changed on its way may come whole the next time
      if (!proof.damaged) this.tried.add(sha256);
      await this.refuse({ sha256, faults: proof.faults });
      return;
    }
    await this.store.run(async (db) => {
      const tx = db.transaction(["packs", "slots", "refused"], "readwrite", STRICT);
      const slots = (await tx.objectStore("slots").get("slots")) ?? NO_SLOTS;
      await tx.objectStore("refused").delete(sha256);
      await tx.objectStore("packs").put({ sha256, bytes, keptAt: Date.now() });
      await tx.objectStore("slots").put({ ...slots, waiting: sha256 }, "slots");
      await tx.done;
    });
    this.packs.set(sha256, proof.pack);
    await this.changed();
    this.say({ taken: true, sha256, vectors: proof.vectors });
  }

  /** Kept, so that the reason still stands after a reload; told to the log once. */
  private async refuse(refused: RefusedPack): Promise<void> {
    const before = this.refused.peek().find((pack) => pack.sha256 === refused.sha256);
    if (before?.faults.join("\n") === refused.faults.join("\n")) return;
    await this.store.run(async (db) => {
      const tx = db.transaction("refused", "readwrite", STRICT);
      await tx.store.put(refused);
      await tx.done;
    });
    await this.changed();
    this.say({ taken: false, ...refused });
  }

  async changeOver(): Promise<void> {
    await this.setSlots((slots) =>
      slots.waiting === null ? slots : { current: slots.waiting, waiting: null },
    );
  }

  async recalls(list: Recall[]): Promise<void> {
    const known = this.recalled.peek();
    const news = list.filter((recall) => known.get(recall.sha256)?.at !== recall.at);
    if (news.length === 0) return;
    await this.store.run(async (db) => {
      const tx = db.transaction(["recalls", "slots"], "readwrite", STRICT);
      const slots = (await tx.objectStore("slots").get("slots")) ?? NO_SLOTS;
      for (const recall of news) {
        await tx.objectStore("recalls").put(recall);
        // a recalled pack never takes over
        if (recall.sha256 === slots.waiting) {
          await tx.objectStore("slots").put({ ...slots, waiting: null }, "slots");
        }
      }
      await tx.done;
    });
    await this.changed();
  }

  async tidy(inUse: Iterable<string>): Promise<void> {
    await this.store.run(async (db) => {
      const tx = db.transaction(["packs", "slots"], "readwrite", STRICT);
      const slots = (await tx.objectStore("slots").get("slots")) ?? NO_SLOTS;
      const keep = new Set<string | null>([...inUse, slots.current, slots.waiting]);
      const packs = tx.objectStore("packs");
      for (const sha256 of await packs.getAllKeys()) {
        if (!keep.has(sha256)) {
          await packs.delete(sha256);
          this.packs.delete(sha256);
        }
      }
      await tx.done;
    });
  }

  onVerdict(listener: (verdict: Verdict) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  close(): void {
    this.channel?.close();
    this.store.close();
  }

  private say(verdict: Verdict): void {
    for (const listener of this.listeners) listener(verdict);
  }

  private async setSlots(change: (slots: Slots) => Slots): Promise<void> {
    await this.store.run(async (db) => {
      const tx = db.transaction("slots", "readwrite", STRICT);
      const slots = (await tx.store.get("slots")) ?? NO_SLOTS;
      await tx.store.put(change(slots), "slots");
      await tx.done;
    });
    await this.changed();
  }

  private async changed(): Promise<void> {
    await this.load();
    this.channel?.postMessage("changed");
  }

  private showRecall(): void {
    const sha256 = this.current.peek()?.sha256;
    this.recall.value = sha256 === undefined ? null : (this.recalled.peek().get(sha256) ?? null);
  }
}

/** `database` is for tests. */
export async function openShelf(database?: string): Promise<Shelf> {
  const shelf = new OpenShelf(database);
  await shelf.load();
  return shelf;
}
