/** Appends a line to this device's chain. Resolves only when the transaction has completed. */
import { sha256, uuid7 } from "./bytes";
import { failureOf, type Meta, type Row } from "./db";
import type { Env } from "./env";
import { bodyText, type Head, type Next, nextLine } from "./line";
import type { Store } from "./store";
import { AppendError, type Failure, type Saved } from "./types";

export const APPEND_LOCK = "chinrest-append";
/** Under the lock another tab's first attempt may still get in between; a few rounds settle that. */
const ROUNDS = 20;

export interface Draft {
  type: string;
  fields: object;
  case: string | null;
  practice: boolean;
  pack: string | null;
  actor: string | null;
  /** The latest time among the case's lines that this phone holds; null where it holds none. */
  seen: number | null;
}

export class Writer {
  /** Where the chain ended when this tab last looked. Only a belief: each write checks it in its transaction. */
  private believed: Head | null = null;
  /** This tab's writes, one after the other, in the order of the taps. */
  private queue: Promise<unknown> = Promise.resolve();

  constructor(
    private readonly env: Env,
    private readonly store: Store,
    private readonly written: (row: Row) => void,
    private readonly failed: (failure: Failure | null) => void,
  ) {}

  /** Null: another tab has written, look again. */
  believe(head: Head | null): void {
    this.believed = head;
  }

  append(device: string, draft: Draft, also: Partial<Meta> = {}): Promise<Saved> {
    const at = this.env.now(); // the moment of the tap, whatever the wait
    const { fields, seen, ...said } = draft;
    const after = seen !== null && seen >= at ? seen : null;
    const stamp = { id: uuid7(at), at, mono: this.env.mono(), boot: this.env.boot, ...said, after };
    const body = bodyText(fields);
    const bodySha256 = sha256(body);
    const next = async (head: Head): Promise<Next> => nextLine(device, head, stamp, body, await bodySha256);
    const turn = this.queue.then(async (): Promise<Saved> => {
      // The transaction's own check of the head is what keeps two tabs to one chain. So the common case, nobody
      // else writing, needs no lock, which would cost a tap half as much again.
      const saved = await this.attempt(next, also);
      if (saved) return saved;
      return this.env.lock(APPEND_LOCK, false, async () => {
        for (let round = 0; round < ROUNDS; round++) {
          const late = await this.attempt(next, also);
          if (late) return late;
        }
        return this.guarded(() => Promise.reject(new Error("other tabs kept writing in between")));
      });
    });
    this.queue = turn.catch(() => undefined); // whoever tapped has the error; the next tap has its own turn
    return turn;
  }

  /** Null when another tab had got there first. */
  private async attempt(after: (head: Head) => Promise<Next>, also: Partial<Meta>): Promise<Saved | null> {
    const from = this.believed ?? (await this.guarded(() => this.store.head()));
    const { raw, head, envelope } = await after(from);
    const { id, device, seq, at, case: of } = envelope;
    const row: Row = { device, seq, id, case: of, form: "plain", raw };
    const put = await this.guarded(async () => {
      const { hiding } = this.store.database;
      return this.store.put(await hiding.hide(row, head.sha256), hiding, from, head, also);
    });
    if (put === "stale") {
      this.believed = null;
      return null;
    }
    this.believed = head;
    this.failed(null);
    this.written(row);
    return { id, seq, at };
  }

  /** A failed write is a blocking screen, never a line in a console. */
  private async guarded<T>(work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      this.believed = null;
      const failure = failureOf(error);
      this.failed(failure);
      throw new AppendError(failure.what, failure.why);
    }
  }
}
