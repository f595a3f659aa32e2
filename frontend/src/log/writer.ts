/** Appends a line to this device's chain. Resolves only when the transaction has completed. */
import { sha256, uuid7 } from "./bytes";
import { failureOf, type Meta, type Row } from "./db";
import type { Env } from "./env";
import { bodyText, type Head, nextLine } from "./line";
import type { Store } from "./store";
import { AppendError, type Failure, type Saved } from "./types";

export const APPEND_LOCK = "chinrest-append";
/** Other tabs may get in between only where the browser has no locks; a few rounds settle that. */
const ROUNDS = 8;

export interface Draft {
  type: string;
  fields: object;
  case: string | null;
  practice: boolean;
  pack: string | null;
  actor: string | null;
}

export class Writer {
  /** Where the chain ended when this tab last looked. Only a guess: each write checks it in its transaction. */
  private guess: Head | null = null;

  constructor(
    private readonly env: Env,
    private readonly store: Store,
    private readonly written: (row: Row) => void,
    private readonly failed: (failure: Failure | null) => void,
  ) {}

  forget(): void {
    this.guess = null;
  }

  async append(device: string, draft: Draft, also: Partial<Meta> = {}): Promise<Saved> {
    const at = this.env.now(); // the moment of the tap, whatever the wait
    const stamp = {
      id: uuid7(at),
      at,
      mono: this.env.mono(),
      boot: this.env.boot,
      actor: draft.actor,
      case: draft.case,
      practice: draft.practice,
      pack: draft.pack,
      type: draft.type,
    };
    const body = bodyText(draft.fields);
    const bodySha256 = sha256(body);
    const after = async (head: Head): ReturnType<typeof nextLine> =>
      nextLine(device, head, stamp, body, await bodySha256);
    // Worked out while the lock is waited for, after the head that this tab believes in.
    const believed = this.guess;
    const early = believed ? after(believed) : null;
    early?.catch(() => undefined); // awaited below, or not needed any more
    return this.env.lock(APPEND_LOCK, false, async () => {
      for (let round = 0; round < ROUNDS; round++) {
        const from: Head = this.guess ?? (await this.guarded(() => this.store.head()));
        const { raw, head, envelope } = await (early && from === believed ? early : after(from));
        const row: Row = { device, seq: head.seq, id: stamp.id, case: stamp.case, form: "plain", raw };
        const put = await this.guarded(() => this.store.put(row, from, head, also));
        if (put === "stale") {
          this.guess = null;
          continue;
        }
        this.guess = head;
        this.failed(null);
        this.written(row);
        return { id: stamp.id, seq: envelope.seq, at };
      }
      return this.guarded(() => Promise.reject(new Error("other tabs kept writing in between")));
    });
  }

  /** A failed write is a blocking screen, never a line in a console. */
  private async guarded<T>(work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      this.guess = null;
      const failure = failureOf(error);
      this.failed(failure);
      throw new AppendError(failure.what, failure.why);
    }
  }
}
