/** Opens the log: reads the store, starts the exchange, and gives the screens their door. */
import { signal } from "@preact/signals";
import type { BodyOf, SyncAnswer } from "../types.gen";
import { uuid4 } from "./bytes";
import { Database, failureOf, type Row } from "./db";
import { browserEnv, type Env, fetchWithin } from "./env";
import { ASK_AGAIN_MS, askToKeep, mayGo, room } from "./keep";
import type { Door } from "./lock/door";
import { Shown } from "./shown";
import { type Everything, Store } from "./store";
import { faultOf } from "./sync/fault";
import type { Loop } from "./sync/loop";
import type { Event } from "./sync/machine";
import type { SyncMemory } from "./sync/memory";
import {
  AppendError,
  type Carrying,
  type EnrolResult,
  type Failure,
  type Lock,
  type LockView,
  type Log,
  type Reading,
  type Saved,
  type Where,
} from "./types";
import { Writer } from "./writer";

const REQUEST_LIMIT_MS = 30_000;

const BLOCKED: Failure = {
  what: "blocked",
  why: "Another tab holds an older version of this app open. Close every other tab of it.",
};
const INSECURE: Failure = {
  what: "insecure",
  why: "This address is not secure (https), so the phone can't sign its log or work offline. Ask for the clinic's https address.",
};

/** What other tabs are told after a commit: places of new lines, or that anything else has changed. */
interface Told {
  lines?: [string, number][];
  all?: boolean;
  /** The first PIN was set. */
  pins?: boolean;
}

class OpenLog implements Log {
  private readonly shown = new Shown();
  private readonly store: Store;
  private readonly writer: Writer;
  private readonly channel: { send(message: unknown): void; close(): void };
  private readonly listeners = new Set<(answer: SyncAnswer) => void>();
  private loop: Loop | null = null;
  /** What the exchange is told before it is read in. */
  private early: Event[] = [];
  private stopReturns: () => void = () => undefined;
  private refreshing: Promise<void> = Promise.resolve();
  private closed = false;
  private sayShut: () => void = () => undefined;
  private readonly shut = new Promise<void>((resolve) => {
    this.sayShut = resolve;
  });

  readonly device = this.shown.device;
  readonly cases = this.shown.cases;
  readonly sync = this.shown.sync;
  readonly storage = this.shown.storage;
  readonly failure = this.shown.failure;
  readonly lockView = signal<LockView>({ state: "open" });
  private door: Promise<Door> | null = null;
  /** The same, once it is read in. */
  private read: Door | null = null;

  constructor(
    private readonly env: Env,
    database?: string,
  ) {
    const onBlocked = (blocked: boolean): void => {
      this.setFailure(blocked ? BLOCKED : null);
      if (blocked) this.sayShut();
    };
    const base = new Database(onBlocked, database);
    this.store = new Store(base);
    this.writer = new Writer(
      env,
      this.store,
      (row) => this.written(row),
      (failure) => this.setFailure(failure),
    );
    this.channel = env.channel((message) => this.heard(message as Told));
  }

  /** Resolves when the store was read; or earlier when another tab keeps it shut, so that this can be said. */
  async start(): Promise<void> {
    if (!globalThis.crypto?.subtle) this.setFailure(INSECURE);
    const loaded = this.reload().then(() => {
      if (this.closed) return;
      this.stopReturns = this.env.onReturn((thawed) => {
        if (thawed) this.refresh(() => this.reload());
        if (this.device.peek()) this.tell("returned");
      });
      if (this.device.peek()) this.begin("returned");
    });
    await Promise.race([loaded, this.shut]);
  }

  private begin(event: "returned" | "enrolled"): void {
    this.tell(event);
    this.keepStore().catch((error: unknown) => this.setFailure(failureOf(error)));
  }

  /** Tells the exchange, which is read in beside the first screen: that stands without it. */
  private tell(event: Event): void {
    if (this.loop) {
      this.loop.tell(event);
      return;
    }
    if (this.early.push(event) > 1) return;
    this.startLoop().catch((error: unknown) => {
      const why = error instanceof Error ? error.message : String(error);
      this.shown.setLoop({ state: "waiting", nextAt: null, fault: faultOf("sync_failed", "phone", why) });
      this.early = []; // the next line or return tries again
    });
  }

  private async startLoop(): Promise<void> {
    const { Loop } = await import("./sync/loop");
    if (this.closed) return;
    this.loop = new Loop(
      this.env,
      this.store.database,
      {
        changed: (view) => {
          const before = this.sync.peek().state;
          this.shown.setLoop(view);
          // a server that was set back may know it by the token of before
          if (view.state === "unknown" && before !== "unknown") this.read?.heardSoon();
        },
        answered: (answer, memory, fresh) => this.answered(answer, fresh, memory),
      },
      this.early[0] === "enrolled" ? null : this.shown.syncMemory.shut,
    );
    this.shown.setLoop(this.loop.view);
    for (const event of this.early) this.loop.tell(event);
  }

  /** Once in a phone's life, or at each start of one that has PINs. */
  lock(): Promise<Lock> {
    return this.locking();
  }

  private locking(): Promise<Door> {
    this.door ??= import("./lock/door").then(({ Door }) => {
      this.read = new Door(
        this.env,
        this.store,
        this.writer,
        (view) => {
          const first = this.lockView.peek().state === "open" && view.state === "unlocked";
          this.lockView.value = view;
          if (first) this.channel.send({ pins: true } satisfies Told);
        },
        async () => {
          await this.reload();
          if (this.device.peek()) this.tell("asked");
        },
        (type, body, where) => this.append(type, body, where),
        this.env.pinRounds,
      );
      return this.read;
    });
    return this.door;
  }

  private async everything(): Promise<Everything> {
    try {
      return await this.store.everything();
    } catch (error) {
      if (!this.store.database.mayHavePins(error)) throw error;
      await (await this.locking()).begin();
      return this.store.everything();
    }
  }

  private async reload(): Promise<void> {
    const since = this.shown.noteAdded(); // opening the lines takes time where there are PINs
    try {
      const all = await this.everything();
      this.writer.believe(all.head);
      const meanwhile = since.stop(); // not what is shown by the next line, which would be read once more, one by one
      this.shown.load(all, this.read?.known(all.device?.id ?? "") ?? null);
      const rows = await this.rowsAt(meanwhile);
      if (rows.length > 0 && !this.closed) this.shown.add(rows);
    } catch (error) {
      if (this.closed) return;
      const failure = failureOf(error);
      const kind = failure.what === "write_failed" ? "store_unavailable" : failure.what;
      this.setFailure({ ...failure, what: kind });
    } finally {
      since.stop();
    }
  }

  private async rowsAt(places: readonly [string, number][]): Promise<Row[]> {
    const rows = await Promise.all(places.map(([device, seq]) => this.store.line(device, seq)));
    return rows.filter((row) => row !== undefined);
  }

  private setFailure(failure: Failure | null): void {
    // plain http stays a failure whatever else goes well
    if (this.failure.peek()?.what === "insecure") return;
    if (failure?.what !== this.failure.peek()?.what) this.failure.value = failure;
  }

  private written(row: Row): void {
    this.shown.add([row]);
    this.channel.send({ lines: [[row.device, row.seq]] } satisfies Told);
    this.tell("nudged");
  }

  /** `answer`: null where it came by file. */
  private async answered(answer: SyncAnswer | null, fresh: Row[], memory?: SyncMemory | null): Promise<void> {
    if (fresh.length > 0) this.shown.add(fresh);
    await this.readSync(memory);
    this.channel.send({ all: true, lines: fresh.map((row) => [row.device, row.seq]) } satisfies Told);
    if (!answer) return;
    for (const listener of this.listeners) listener(answer);
    if (this.lockView.peek().state !== "open")
      await (await this.locking()).withdraw(answer.withdrawn_people ?? []);
  }

  /** `known`: where nothing else of it has changed. */
  private async readSync(known?: SyncMemory | null): Promise<void> {
    const { sync, refused } = known ? { sync: known } : await this.store.exchange();
    const again = sync.offeredAgain > this.shown.syncMemory.offeredAgain;
    this.shown.setSync(sync, refused);
    // locked, it is not known yet since when those wait
    if (again && this.lockView.peek().state === "locked") await this.reload();
  }

  /** One refresh after the other, so that an older reading never overtakes a newer one. */
  private refresh(work: () => Promise<void>): void {
    this.refreshing = this.refreshing.then(work).catch((error: unknown) => {
      if (!this.closed) this.setFailure(failureOf(error));
    });
  }

  private heard(told: Told): void {
    if (told.pins) this.refresh(() => this.reload());
    this.refresh(async () => {
      const places = told.lines ?? [];
      if (places.some(([device]) => device === this.device.peek()?.id)) this.writer.believe(null);
      const rows = await this.rowsAt(places);
      if (this.closed) return;
      if (rows.length > 0) this.shown.add(rows);
      if (!told.all) return;
      const before = this.device.peek();
      const { shut } = this.shown.syncMemory;
      const device = (await this.store.get("device")) ?? null;
      this.shown.setDevice(device);
      await this.readSync();
      await this.read?.lookAgain();
      if (!device) return;
      if (!before) this.begin("enrolled");
      else if (shut && !this.shown.syncMemory.shut) this.tell("enrolled"); // let in again by the other tab
    });
  }

  async enrol(code: string, label: string): Promise<EnrolResult> {
    if (!globalThis.crypto?.subtle) {
      return { ok: false, fault: { code: "insecure", where: "address", why: INSECURE.why } };
    }
    const { enrol } = await import("./enrol"); // once in a phone's life
    const result = await enrol(this.env, this.store, this.writer, code, label);
    if (!result.ok) return result;
    await this.reload();
    this.channel.send({ all: true } satisfies Told);
    this.read?.heardSoon();
    this.begin("enrolled");
    return { ok: true };
  }

  async append<T extends keyof BodyOf>(type: T, body: Omit<BodyOf[T], "salt">, where: Where): Promise<Saved> {
    const device = this.device.peek();
    if (!device) throw new AppendError("not_enrolled", "This phone is not enrolled yet, so it has no log.");
    const known = where.case === null ? undefined : this.caseOf(where.case);
    const draft = {
      type,
      fields: body,
      case: where.case,
      practice: where.practice ?? known?.practice ?? false,
      pack: where.pack ?? known?.pack ?? null,
      actor: where.actor ?? null,
      seen: known?.latest ?? null,
    };
    const also = this.read?.beside(known, device.id, type, body, where, this.reading());
    try {
      return await this.writer.append(device.id, draft, also);
    } catch (error) {
      if (!(error instanceof AppendError) || error.code !== "newer_version") throw error;
      // another tab may have set the first PIN this moment: then this one is locked now, and seals the line
      await this.reload();
      if (this.lockView.peek().state === "open") throw error;
      return this.writer.append(device.id, draft);
    }
  }

  reading(): Reading {
    return { at: this.env.now(), mono: this.env.mono(), boot: this.env.boot };
  }

  newCase(): string {
    return uuid4();
  }

  caseOf = (id: string): ReturnType<Log["caseOf"]> => this.shown.caseOf(id);

  syncNow(): void {
    if (this.device.peek()) this.tell("asked");
  }

  placeOf: Log["placeOf"] = (device, seq) => this.shown.placeOf(device, seq);

  async exportLines(): Promise<Blob> {
    const rows = await this.store.unsentLines();
    return new Blob([rows.map((row) => `${row.raw}\n`).join("")], { type: "application/x-ndjson" });
  }

  async carrying(): Promise<Carrying> {
    const { carryingOf } = await import("./carry/carrying");
    return carryingOf(this.env, this.store.database, () => this.answered(null, []));
  }

  onAnswer(listener: (answer: SyncAnswer) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  async request(path: string, init: RequestInit = {}): Promise<Response> {
    const device = await this.store.get("device");
    const headers = new Headers(init.headers);
    if (device) headers.set("Authorization", `Bearer ${await this.store.database.tokenOf(device)}`);
    const {
      status,
      headers: told,
      body,
    } = await fetchWithin(this.env, REQUEST_LIMIT_MS, path, {
      credentials: "omit",
      ...init,
      headers,
    });
    const bodiless = status === 204 || status === 205 || status === 304;
    return new Response(bodiless ? null : body, { status, headers: told });
  }

  async clearOld(now: number, keepDays: number): Promise<number> {
    const own = this.device.peek()?.id ?? null;
    const { sync } = await this.store.exchange();
    const going = this.cases.peek().flatMap((of) => {
      const lines = this.shown.linesOf(of.id);
      return mayGo({ ...of, lines }, own, sync, now, keepDays) ? lines : [];
    });
    if (going.length === 0) return 0;
    await this.store.remove(going.map(({ device, seq }): [string, number] => [device, seq]));
    this.shown.remove(going);
    return going.length;
  }

  /** Asks the browser to keep the store, at most once a day, and logs the answer when it is a new one. */
  private async keepStore(): Promise<void> {
    const manager = globalThis.navigator?.storage as StorageManager | undefined;
    const space = await room(manager);
    const last = await this.store.get("storage");
    this.storage.value = { answer: last?.answer ?? null, ...space };
    if (last && last.answer !== "absent" && this.env.now() - last.askedAt < ASK_AGAIN_MS) return;
    const answer = await askToKeep(manager);
    if (this.closed) return;
    this.storage.value = { answer, ...space };
    await this.store.set("storage", { answer, askedAt: this.env.now() });
    if (last?.answer !== answer) {
      await this.append("storage.asked", { answer, quota_bytes: space.quota }, { case: null });
    }
  }

  close(): void {
    this.closed = true;
    this.stopReturns();
    this.loop?.close();
    this.channel.close();
    this.store.database.close();
  }
}

/** Never rejects: what stands in the way is said by `failure`. `env` and `database` are for tests. */
export async function openLog(env: Env = browserEnv(), database?: string): Promise<Log> {
  const log = new OpenLog(env, database);
  await log.start();
  return log;
}
