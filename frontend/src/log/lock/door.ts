/** PINs as the screens ask for them: the first one, unlocking, locking, and the server's help. */
import type { BodyOf } from "../../types.gen";
import { sealKeyOf } from "../carry/key";
import type { CaseState } from "../case";
import type { Meta } from "../db";
import { enrol } from "../enrol";
import type { Env } from "../env";
import { readLine } from "../line";
import type { Store } from "../store";
import { faultOf } from "../sync/fault";
import type {
  InHand,
  Lock,
  LockView,
  Log,
  Outcome,
  PinSet,
  Reading,
  Unlocking,
  Unnamed,
  Where,
} from "../types";
import type { Writer } from "../writer";
import { encryptStore } from "./first";
import { Guard } from "./guard";
import { Locked, Unlocked } from "./hiding";
import { inHandAfter } from "./inHand";
import { newKeys, type Opened } from "./keys";
import { knownCase } from "./known";
import { hideText, showText } from "./notes";
import { nameFault, nameKey, pinFault } from "./pin";

const CONFIRMED = "lines.confirmed";
/** So many ids fit into one line with room to spare. */
const IDS_AT_ONCE = 200;

type Done = Outcome<{ name: string }>;

function no(code: string, where: string, why: string): Done {
  return { ok: false, fault: faultOf(code, where, why) };
}

export class Door implements Lock {
  private readonly guard: Guard;
  private opened: Opened | null = null;
  private name: string | null = null;
  private hand: InHand | null = null;
  private locked = false;

  /** `say`: who has unlocked the phone, told before `reload` takes the lines anew. `append`: the log's own. */
  constructor(
    private readonly env: Env,
    private readonly store: Store,
    private readonly writer: Writer,
    private readonly say: (view: LockView) => void,
    private readonly reload: () => Promise<void>,
    private readonly append: Log["append"],
    private readonly rounds?: number,
  ) {
    this.guard = new Guard(env, store.database, rounds);
  }

  /** A phone that has PINs begins locked. */
  async begin(): Promise<void> {
    const keys = await this.guard.keys();
    if (!keys) throw new Error("the phone's lines are encrypted, and its keys are missing");
    this.store.database.hiding = new Locked(keys);
    this.hand = (await this.store.get("inHand")) ?? null;
    this.locked = true;
    this.opened = null;
    this.name = null;
    this.say({ state: "locked" });
  }

  async people(): Promise<string[]> {
    return (await this.guard.keys())?.people.map(({ name }) => name) ?? [];
  }

  async gone(): Promise<string[]> {
    return (await this.guard.keys())?.gone ?? [];
  }

  async lock(): Promise<void> {
    if (!this.opened) return;
    await this.begin();
    await this.reload();
  }

  private async enter(opened: Opened, name: string): Promise<void> {
    const keys = await this.guard.keys();
    if (!keys) throw new Error("the phone's keys are missing");
    this.store.database.hiding = new Unlocked(keys, opened);
    await this.entered(opened, name);
  }

  private async entered(opened: Opened, name: string): Promise<void> {
    this.opened = opened;
    this.name = name;
    this.hand = null;
    this.locked = false;
    this.say({ state: "unlocked", name });
    await this.reload();
  }

  async unlock(name: string, pin: string): Promise<Unlocking> {
    const said = await this.guard.unlock(name, pin);
    if (!said.ok) return said;
    await this.enter(said.opened, said.name);
    this.heardSoon();
    return { ok: true, name: said.name };
  }

  async setFirst(name: string, pin: string): Promise<Done> {
    const why = nameFault(name) ?? pinFault(pin, name);
    if (why !== null) return no("value", "pin", why);
    const device = await this.store.get("device");
    if (!device) return no("not_enrolled", "phone", "This phone is not enrolled.");
    const sealKey = await this.sealKey(device);
    if (!sealKey) {
      return no(
        "no_answer",
        "server",
        "The first PIN needs the server once, and it can't be reached. Try again.",
      );
    }
    const { keys, opened } = await newKeys(device.id, sealKey, name, pin, this.rounds);
    await encryptStore(this.store.database, keys, opened, name, pin);
    const tidy = name.trim();
    await this.entered(opened, tidy);
    this.heardSoon();
    return { ok: true, name: tidy };
  }

  /** Null where it is not proved, or no answer came. */
  private async sealKey(device: Meta["device"]): Promise<string | null> {
    try {
      return (await sealKeyOf(this.env, this.store.database, device))?.key ?? null;
    } catch {
      return null; // no answer: said to whoever asked
    }
  }

  async setPin(name: string, pin: string): Promise<PinSet> {
    if (!this.opened) return { ok: false, why: "Unlock the phone first." };
    return this.guard.setPin(this.opened, name, pin);
  }

  /** By a new enrolment code, the server gives this phone its own data key back. */
  async recover(code: string, name: string, pin: string): Promise<Done> {
    const why = nameFault(name) ?? pinFault(pin, name);
    if (why !== null) return no("value", "pin", why);
    const [keys, device] = await Promise.all([this.guard.keys(), this.store.get("device")]);
    if (!keys || !device) return no("not_enrolled", "phone", "This phone has no PINs.");
    const said = await enrol(this.env, this.store, this.writer, code, device.label, keys.escrow);
    if (!said.ok) return said;
    const opened = await this.guard.openByServer(said.dataKey);
    if (!opened) return no("cannot_open", "server", "What the server gave back does not open this phone.");
    const set = await this.guard.setPin(opened, name, pin);
    if (!set.ok) return no("value", "pin", set.why);
    const tidy = name.trim();
    await this.enter(opened, tidy);
    this.heardSoon();
    return { ok: true, name: tidy };
  }

  inHand(): InHand | null {
    return this.hand;
  }

  /** How to make the case in hand anew as far as a locked phone knows it. `device`: this phone's id. */
  known(device: string): (() => CaseState) | null {
    const { hand } = this;
    return hand && (() => knownCase(hand, device));
  }

  async hidden(text: string): Promise<string | null> {
    return this.opened && hideText(this.opened, text);
  }

  async shown(hidden: string): Promise<string | null> {
    return this.opened && showText(this.opened, hidden);
  }

  /** What the server must be heard about while the phone is unlocked: it may have another key by now, and what a locked
   * phone seals must be for that one; and it must know the token that a locked phone sends by. */
  heardSoon(): void {
    this.reseal()
      .then(() => this.provide())
      .catch((error: unknown) => console.warn("the server was not heard about keys and tokens:", error));
  }

  private async provide(): Promise<void> {
    const [keys, { opened }] = [await this.guard.keys(), this];
    if (!keys || !opened) return;
    const { provide } = await import("./provide");
    // what was shut by a token that the server does not know is tried again
    if (await provide(this.env, this.store.database, keys, opened)) await this.reload();
  }

  private async reseal(): Promise<void> {
    const { opened } = this;
    const device = await this.store.get("device");
    const sealKey = opened && device ? await this.sealKey(device) : null;
    if (!opened || !sealKey) return;
    const keys = await this.guard.reseal(opened, sealKey);
    if (keys && this.opened === opened) this.store.database.hiding = new Unlocked(keys, opened);
  }

  /** Another tab may have heard that whoever has unlocked this one was withdrawn. */
  async lookAgain(): Promise<void> {
    const { name } = this;
    if (name === null) return;
    const people = await this.people();
    if (!people.some((one) => nameKey(one) === nameKey(name))) await this.lock();
  }

  /** What is stored with a line, so that it can be read while the phone is locked, and it may be locked already.
   * `state`: the case before it, as far as it is known. */
  beside(
    state: CaseState | undefined,
    device: string,
    type: keyof BodyOf,
    body: object,
    where: Where,
    now: Reading,
  ): Partial<Meta> {
    if (!this.opened && !this.locked) return {};
    const inHand = inHandAfter(state, device, type, body, where, now);
    return inHand === undefined ? {} : { inHand };
  }

  async unconfirmed(): Promise<Unnamed[]> {
    const device = await this.store.get("device");
    if (!this.opened || !device) return [];
    const { hiding } = this.store.database;
    const { written: hidden, beside } = await this.store.writtenLocked(device.id);
    const named = new Set<unknown>();
    for (const { raw } of await hiding.show(beside)) {
      const line = raw.includes(CONFIRMED) ? readLine(raw) : null;
      const lines = line?.envelope.type === CONFIRMED ? line.body?.lines : null;
      if (Array.isArray(lines)) for (const id of lines) named.add(id);
    }
    const written = await hiding.show(hidden);
    return written.flatMap(({ raw }) => {
      const envelope = readLine(raw)?.envelope;
      if (!envelope || named.has(envelope.id) || envelope.actor !== null) return [];
      // what belongs to no case, and a doubt about a clock, the phone writes by itself
      if (envelope.case === null || envelope.type === "clock.uncertain") return [];
      const { id, type, case: of, at } = envelope;
      return { id, type, case: of, at };
    });
  }

  async confirm(ids: readonly string[]): Promise<void> {
    const by = this.name;
    if (by === null) return;
    const asked = new Set(ids);
    const wanted = (await this.unconfirmed()).filter(({ id }) => asked.has(id));
    for (const of of new Set(wanted.map((line) => line.case))) {
      const here = wanted.filter((line) => line.case === of).map(({ id }) => id);
      for (let at = 0; at < here.length; at += IDS_AT_ONCE) {
        const lines = here.slice(at, at + IDS_AT_ONCE);
        await this.append(CONFIRMED, { lines, by }, { case: of, actor: by });
      }
    }
  }

  /** Who was withdrawn opens the phone no longer; if it is who has it open, it is locked. */
  async withdraw(names: readonly string[]): Promise<void> {
    if (names.length === 0) return;
    await this.guard.remove(names);
    const { name } = this;
    if (name !== null && names.some((one) => nameKey(one) === nameKey(name))) await this.lock();
  }
}
