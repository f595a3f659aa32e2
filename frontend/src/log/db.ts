/** The log's IndexedDB database: its layout, and one way in that opens it again once when the browser has dropped
 * the connection (phones do, after a long sleep). */
import {
  type DBSchema,
  type IDBPDatabase,
  type IDBPTransaction,
  type OpenDBCallbacks,
  openDB,
  type StoreNames,
} from "idb";
import type { CarryingKey } from "../types.gen";
import { type Hiding, IN_THE_CLEAR, NOT_KNOWN_YET, type StoredRefused } from "./hiding";
import type { Head } from "./line";
import type { LockKeys } from "./lock/keys";
import type { HiddenRow } from "./lock/rows";
import type { SyncMemory } from "./sync/memory";
import type { Device, Failure, InHand, StorageView } from "./types";

export const DB_NAME = "chinrest-log";
export const DB_VERSION = 1;
/** The same layout on a phone with PINs, so that an app that knows of none does not write beside it in the clear. */
export const LOCKED_VERSION = 2;

/** One event. Never written again once it stands. */
export interface Row {
  device: string;
  seq: number;
  id: string;
  case: string | null;
  form: "plain";
  raw: string;
}

/** As it stands in the store: `form` says how to read it. */
export type StoredRow = Row | HiddenRow;

/** What the phone keeps about itself, a row each. */
export interface Meta {
  /** `token`: all that a phone may do, or where there is a `full` one, which is hidden (base64), only to send. `former`:
   * the full one before that, hidden too. */
  device: Device & { token: string; full?: string; former?: string };
  keys: CryptoKeyPair;
  /** Id and keys of an enrolment that was begun: if its answer is lost, the next try is the same device. */
  pending: { id: string; keys: CryptoKeyPair };
  head: Head;
  /** For which key lines are sealed that go by file; null where it is not known yet. Whoever uses it proves it. */
  carrying: CarryingKey | null;
  storage: { answer: NonNullable<StorageView["answer"]>; askedAt: number };
  /** Only where the phone has PINs. */
  lock: LockKeys;
  /** Only there too: what a locked phone may still read. Null where no case is in hand. */
  inHand: InHand | null;
}

export interface LogSchema extends DBSchema {
  lines: { key: [string, number]; value: StoredRow };
  meta: { key: keyof Meta; value: Meta[keyof Meta] };
  /** Apart from `meta`, so that the exchange never makes an append wait. */
  exchange: { key: "sync"; value: SyncMemory };
  refused: { key: number; value: StoredRefused };
}

export type LogDb = IDBPDatabase<LogSchema>;
type Raise = (tx: IDBPTransaction<LogSchema, StoreNames<LogSchema>[], "versionchange">) => Promise<void>;

function upgrade(db: LogDb, from: number): void {
  if (from < 1) {
    db.createObjectStore("lines", { keyPath: ["device", "seq"] });
    db.createObjectStore("meta");
    db.createObjectStore("exchange");
    db.createObjectStore("refused", { keyPath: "seq" });
  }
}

/** The error's own name, whichever realm it comes from. */
export function nameOf(error: unknown): string {
  return typeof error === "object" && error !== null && "name" in error ? String(error.name) : "";
}

function wordsOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** What a failed write or open means for the person who holds the phone. */
export function failureOf(error: unknown): Failure {
  const name = nameOf(error);
  if (name === "QuotaExceededError") {
    return {
      what: "store_full",
      why: "This phone has no room left for the log. Free some space, then try again.",
    };
  }
  if (name === "VersionError") {
    return {
      what: "newer_version",
      why: "Another tab runs a newer version of this app. Close this tab or reload it.",
    };
  }
  if (name === "SecurityError" || name === "NotFoundError" || name === "NotSupportedError") {
    return {
      what: "store_unavailable",
      why: `This browser does not let the app keep its log (${wordsOf(error)}).`,
    };
  }
  return {
    what: "write_failed",
    why: `The phone did not confirm that the entry was written (${wordsOf(error)}).`,
  };
}

const LOST_CONNECTION = new Set(["InvalidStateError", "UnknownError"]);

export class Database {
  private opening: Promise<LogDb> | null = null;
  private closed = false;
  /** How lines are stored here. */
  hiding: Hiding = IN_THE_CLEAR;

  /** `onBlocked(true)` when another tab holds an older layout open, `onBlocked(false)` when that is over. */
  constructor(
    private readonly onBlocked: (blocked: boolean) => void,
    private readonly name: string = DB_NAME,
    private version: number = DB_VERSION,
  ) {}

  private open(): Promise<LogDb> {
    if (this.closed) return Promise.reject(new Error("the log is closed"));
    return this.opening ?? this.connect((db, from) => upgrade(db, from));
  }

  private connect(
    change: NonNullable<OpenDBCallbacks<LogSchema>["upgrade"]>,
    accept: () => void = () => undefined,
  ): Promise<LogDb> {
    let wasBlocked = false;
    const opening: Promise<LogDb> = openDB<LogSchema>(this.name, this.version, {
      upgrade: change,
      blocked: () => {
        wasBlocked = true;
        this.onBlocked(true);
      },
      // a newer app in another tab needs the layout: let go at once, or its start hangs
      blocking: () => this.drop(opening),
      terminated: () => this.drop(opening),
    }).then((db) => {
      try {
        accept(); // before whoever waits for the database writes to it
      } catch (error) {
        db.close();
        throw error;
      }
      return db;
    });
    this.opening = opening;
    opening.then(
      () => wasBlocked && this.onBlocked(false),
      () => this.drop(opening), // a failed open is never kept: the next call tries again
    );
    return opening;
  }

  private drop(opening: Promise<LogDb>): void {
    if (this.opening === opening) this.opening = null;
    opening.then(
      (db) => db.close(),
      () => undefined, // never opened: nothing to close, and whoever asked has had the error
    );
  }

  /** Whether it may be that of a phone with PINs, which this did not expect: then the next open does. */
  mayHavePins(error: unknown): boolean {
    if (nameOf(error) !== "VersionError" || this.version !== DB_VERSION) return false;
    this.version = LOCKED_VERSION;
    this.hiding = NOT_KNOWN_YET;
    return true;
  }

  /** Raises the version. `work` runs in the transaction that does it, all or nothing: where it throws, nothing has
   * changed. From then on lines are stored by `hiding`. Other tabs must let go of the database first; where one of them
   * raised it before, this throws. */
  async raise(version: number, work: Raise, hiding: Hiding): Promise<void> {
    const before = this.version;
    const failed: unknown[] = [];
    let done = false;
    if (this.opening) this.drop(this.opening);
    this.version = version;
    const change = (
      _db: LogDb,
      _from: number,
      _to: number | null,
      tx: Parameters<Raise>[0],
    ): Promise<void> => {
      tx.done.catch(() => undefined); // whether it was done, the open says
      return work(tx).then(
        () => {
          done = true;
        },
        (error: unknown) => {
          failed.push(error);
          tx.abort();
        },
      );
    };
    try {
      await this.connect(change, () => {
        if (!done) throw new Error("another page of this app has changed the store: load this one anew");
        this.hiding = hiding;
      });
    } catch (error) {
      this.version = before;
      throw failed[0] ?? error;
    }
  }

  /** What the server knows this phone by now. */
  async tokenOf(device: Meta["device"]): Promise<string> {
    return (await this.hiding.fullToken?.(device)) ?? device.token;
  }

  /** Runs `work` on the open database. When the connection turns out to be gone, opens it once more and runs
   * `work` again: so `work` must be safe to run twice. */
  async run<T>(work: (db: LogDb) => Promise<T>): Promise<T> {
    const opening = this.open();
    try {
      return await work(await opening);
    } catch (error) {
      if (!LOST_CONNECTION.has(nameOf(error)) || this.closed) throw error;
      this.drop(opening);
      return work(await this.open());
    }
  }

  close(): void {
    this.closed = true;
    if (this.opening) this.drop(this.opening);
  }
}
