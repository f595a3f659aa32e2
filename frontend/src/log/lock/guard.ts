/** Who may unlock this phone: the keys where they are stored, each change one strict transaction. */
import type { Database, Meta } from "../db";
import type { Env } from "../env";
import { inTransaction } from "../tx";
import type { PinSet, Unlocking } from "../types";
import {
  keysFor,
  type LockKeys,
  newPerson,
  type Opened,
  openedByServer,
  type Person,
  personOf,
  unlocked,
  withoutPeople,
  withPerson,
  withTries,
} from "./keys";
import { nameFault, pinFault } from "./pin";
import { begun, type May, MOST, mayTry, NO_TRIES, onThisClock } from "./tries";

type Unlock = { ok: true; opened: Opened; name: string } | Exclude<Unlocking, { ok: true }>;

const STRICT: IDBTransactionOptions = { durability: "strict" };
const CHANGED = "The phone's keys have changed. Unlock it again.";

export class Guard {
  constructor(
    private readonly env: Pick<Env, "now">,
    private readonly database: Database,
    private readonly rounds?: number,
  ) {}

  async keys(): Promise<LockKeys | null> {
    const found = await this.database.run((db) => db.get("meta", "lock"));
    return (found as Meta["lock"] | undefined) ?? null;
  }

  /** Reads and writes in one transaction. Null, and nothing written, where `work` gives null or there are no keys. */
  private async change(work: (keys: LockKeys) => LockKeys | null): Promise<LockKeys | null> {
    return this.database.run((db) => {
      const tx = db.transaction("meta", "readwrite", STRICT);
      return inTransaction(tx, async () => {
        const keys = (await tx.store.get("lock")) as Meta["lock"] | undefined;
        const changed = keys ? work(keys) : null;
        if (changed) await tx.store.put(changed, "lock");
        return changed;
      });
    });
  }

  /** Counts the try and writes that down, then looks at the PIN. */
  async unlock(name: string, pin: string): Promise<Unlock> {
    const now = this.env.now();
    let may: May | null = null;
    const keys = await this.change((before) => {
      const person = personOf(before, name);
      if (!person) return null;
      may = mayTry(person.tries, now);
      const tries = may.may === "try" ? begun(person.tries, now) : onThisClock(person.tries, now);
      return withTries(before, name, tries);
    });
    const said = may as May | null; // set in the transaction
    if (!keys || !said) return { ok: false, why: "nobody" };
    if (said.may === "server") return { ok: false, why: "server" };
    if (said.may === "wait") return { ok: false, why: "wait", ms: said.ms };
    const opened = await unlocked(keys, name, pin);
    if (opened) {
      await this.change((before) => withTries(before, name, NO_TRIES));
      return { ok: true, opened, name: personOf(keys, name)?.name ?? name };
    }
    const tries = personOf(keys, name)?.tries ?? NO_TRIES;
    if (tries.wrong >= MOST) return { ok: false, why: "server" };
    const next = mayTry(tries, now);
    return { ok: false, why: "wrong", left: MOST - tries.wrong, ms: next.may === "wait" ? next.ms : 0 };
  }

  /** A PIN for somebody new, or another one for somebody who has one. */
  async setPin(opened: Opened, name: string, pin: string): Promise<PinSet> {
    const why = nameFault(name) ?? pinFault(pin, name);
    if (why !== null) return { ok: false, why };
    const keys = await this.keys();
    if (!keys) return { ok: false, why: CHANGED };
    const person = await newPerson(keys, opened, name, pin, this.rounds);
    return this.join(keys, person);
  }

  private async join(keys: LockKeys, person: Person): Promise<PinSet> {
    const done = await this.change((before) =>
      before.publicKey === keys.publicKey ? withPerson(before, person) : null,
    );
    return done ? { ok: true } : { ok: false, why: CHANGED };
  }

  /** For a server whose key is another than it was; null where nothing changed. */
  async reseal(opened: Opened, sealKey: string): Promise<LockKeys | null> {
    const keys = await this.keys();
    if (!keys || keys.sealKey === sealKey) return null;
    const made = await keysFor(sealKey, keys, opened);
    const { escrow } = made;
    return this.change((before) =>
      before.publicKey === keys.publicKey ? { ...before, sealKey, escrow } : null,
    );
  }

  /** Their PINs open this phone no longer. */
  async remove(names: readonly string[]): Promise<void> {
    await this.change((before) => {
      const after = withoutPeople(before, names);
      return after.people.length === before.people.length ? null : after;
    });
  }

  /** By the data key that the server gave back; null where it is not this phone's. */
  async openByServer(given: string): Promise<Opened | null> {
    const keys = await this.keys();
    return keys && openedByServer(keys, given);
  }
}
