/** What the log offers to the screens. Nothing else of `log/` is imported from outside. */
import type { ReadonlySignal } from "@preact/signals";
import type { BodyOf, Fault, SyncAnswer } from "../types.gen";
import type { CaseState } from "./case";

/** This phone, as enrolled. */
export interface Device {
  id: string;
  label: string;
  site: string;
  siteName: string;
  server: string;
  epoch: string;
  demo: boolean;
  enrolledAt: number;
  /** The server's public key (SPKI in base64), which signs its receipts; empty where it gave none at enrolment. */
  serverKey?: string;
  /** At a hub, the key of the final server that it relays to; empty where it knew none at enrolment. */
  finalKey?: string;
}

/** Where a line is. `phone`: only here. `hub`, `server`: acknowledged there (and still here). */
export type Place = "phone" | "hub" | "server" | "refused";

/** The phone's two clocks at one moment, as a line has them: time of day, and what the app has counted since it
 * started. `boot` names that start: counts of two starts say nothing of each other. */
export interface Reading {
  at: number;
  mono: number;
  boot: string;
}

/** A line that is durably on this phone. */
export interface Saved {
  id: string;
  seq: number;
  at: number;
}

export interface Where {
  case: string | null;
  /** Defaults to what the case says. */
  practice?: boolean;
  /** SHA-256 of the pack that guides; defaults to the one that the case began with. */
  pack?: string | null;
  actor?: string | null;
}

/** A line that the server would not take. It stays on the phone and needs a person. */
export interface RefusedLine {
  id: string;
  seq: number;
  case: string | null;
  type: string;
  at: number;
  code: string;
  reason: string;
}

/** States of the sync machine; SYNC.md says what each means and how each is left. */
export type SyncState = "idle" | "sending" | "waiting" | "stuck" | "withdrawn" | "unknown" | "outdated";

export interface SyncView {
  /** `off` while the phone is not enrolled. */
  state: SyncState | "off";
  /** Lines that only this phone holds. */
  waiting: number;
  /** Wall time of the oldest of these, or null. */
  oldestAt: number | null;
  /** When the server last answered, by this phone's clock. */
  lastHeardAt: number | null;
  /** When the next try is due, by this phone's clock; null when none is planned. */
  nextAt: number | null;
  refused: RefusedLine[];
  withdrawn: boolean;
  /** Lines that had been acknowledged and are offered again because the server no longer holds them. */
  offeredAgain: number;
  /** Phone clock minus server clock, ms, as of the last answer. */
  clockOffsetMs: number | null;
  /** Why the last try failed, or null after a good one. */
  fault: Fault | null;
  /** Version of the server's app, as of the last answer. */
  serverApp: string | null;
  /** Lines from other devices that this version could not even place. They remain on the server. */
  unreadable: number;
  /** Lines on this phone that can't be read now: on an unlocked one, because their rows are damaged. */
  unopened: number;
}

export interface StorageView {
  /** The browser's answer when asked to keep the store; null before it was asked. */
  answer: "granted" | "refused" | "absent" | "no_answer" | null;
  usage: number | null;
  quota: number | null;
}

export type FailureKind =
  | "store_full" // the browser says that there is no room
  | "write_failed" // a write was aborted or never completed
  | "store_unavailable" // the store cannot be opened at all (private window, broken profile)
  | "blocked" // another tab holds an older version of the store open
  | "newer_version" // another tab has moved the store to a newer version of the app
  | "insecure"; // plain http: no signing key, no offline app

/** Something that stops recording. Shown as a blocking screen with a way to export. */
export interface Failure {
  what: FailureKind;
  why: string;
}

export type EnrolResult = { ok: true } | { ok: false; fault: Fault };

/** What became of a file that was made or opened. */
export type Outcome<T> = ({ ok: true } & T) | { ok: false; fault: Fault };

/** A file that this phone made to be carried. */
export interface CarriedFileView {
  at: number;
  lines: number;
  /** When the server took it, by the server's clock; null while no answer has come back. */
  takenAt: number | null;
}

export interface CarryingState {
  /** False while this phone does not know for whom to seal. */
  ready: boolean;
  /** Own lines that no file with an answer and no server has. */
  waiting: number;
  /** Newest first. */
  files: CarriedFileView[];
}

/** Lines by file: out to the final server, whoever carries them, and its answer back. */
export interface Carrying {
  state(): Promise<CarryingState>;
  /** One file of what waits, sealed for the final server alone; `left` lines did not fit. */
  make(): Promise<Outcome<{ name: string; text: string; lines: number; left: number }>>;
  /** The server's answer to such a file. Nothing is changed where it is refused. `settled`: lines that waited
   * and no longer do. */
  open(text: string): Promise<Outcome<{ settled: number; taken: number; refused: number }>>;
}

/** `open`: the phone has no PINs. */
export type LockView = { state: "open" | "locked" } | { state: "unlocked"; name: string };

/** `left`: tries before only the server helps. `ms`: until the next one is looked at. `nobody`: the name has no PIN
 * here. */
export type Unlocking =
  | { ok: true; name: string }
  | { ok: false; why: "wrong"; left: number; ms: number }
  | { ok: false; why: "wait"; ms: number }
  | { ok: false; why: "server" | "nobody" };

export type PinSet = { ok: true } | { ok: false; why: string };

/** Where a dye's clock begins: `seconds` after it, at this reading of the two clocks. `foreign`: another phone's. */
export interface DyeZero extends Reading {
  dye: string;
  seconds: number;
  foreign: boolean;
}

/** Where the clock of an emergency that runs begins. */
export interface BeganReaction extends Reading {
  device: string;
}

/** What of the case that was last written to stays readable on a locked phone. */
export interface InHand {
  case: string;
  practice: boolean;
  /** SHA-256 of the pack that guides it. */
  pack: string | null;
  /** The latest time among its lines: what is written next comes after it. */
  latest: number;
  /** In the order of injection; a dye given twice counts from the first. */
  dyes: DyeZero[];
  /** Null where no emergency runs. */
  reaction: BeganReaction | null;
}

/** A line that names nobody, because the phone was locked when it was written. */
export interface Unnamed {
  id: string;
  type: string;
  case: string;
  at: number;
}

/** PINs. Lines are encrypted from the first one on; on a locked phone they can be written and sent, and not read. */
export interface Lock {
  people(): Promise<string[]>;
  /** Who was withdrawn from this site's phones, and opened this one before. */
  gone(): Promise<string[]>;
  /** Encrypts all that is on the phone; it needs the server once. Raises where the store can't be written. */
  setFirst(name: string, pin: string): Promise<Outcome<{ name: string }>>;
  unlock(name: string, pin: string): Promise<Unlocking>;
  lock(): Promise<void>;
  /** On an unlocked phone: for somebody new, or in place of the PIN that they had. */
  setPin(name: string, pin: string): Promise<PinSet>;
  /** Where no PIN is known any more: a new enrolment code opens this phone by the server, and sets one. */
  recover(code: string, name: string, pin: string): Promise<Outcome<{ name: string }>>;
  /** On a locked phone: as it was when it was locked. Null where no case was in hand. */
  inHand(): InHand | null;
  /** On an unlocked phone, in the order in which they were written. */
  unconfirmed(): Promise<Unnamed[]>;
  /** Says in the log that whoever has unlocked the phone wrote these. */
  confirm(ids: readonly string[]): Promise<void>;
  /** What the screens keep beside the lines, by the data key. Both give null while the phone is locked, `shown` also
   * where it does not open. */
  hidden(text: string): Promise<string | null>;
  shown(hidden: string): Promise<string | null>;
}

export interface Log {
  /** Null while the phone is not enrolled. */
  readonly device: ReadonlySignal<Device | null>;
  enrol(code: string, label: string): Promise<EnrolResult>;
  /** Resolves only when the line is durably on this phone; rejects with `AppendError` when it is not. */
  append<T extends keyof BodyOf>(type: T, body: Omit<BodyOf[T], "salt">, where: Where): Promise<Saved>;
  /** Both clocks now, by the same means as in the lines. */
  reading(): Reading;
  /** A random id for a new case. */
  newCase(): string;
  /** Every case on this phone, its own and those of the site's other devices, newest first. */
  readonly cases: ReadonlySignal<CaseState[]>;
  caseOf(id: string): CaseState | undefined;
  readonly sync: ReadonlySignal<SyncView>;
  syncNow(): void;
  /** Where a line is, so that 'saved' always says where. */
  placeOf(device: string, seq: number): Place;
  readonly storage: ReadonlySignal<StorageView>;
  readonly failure: ReadonlySignal<Failure | null>;
  readonly lockView: ReadonlySignal<LockView>;
  /** Read in when it is asked for. */
  lock(): Promise<Lock>;
  /** Every line that only this phone holds, refused ones included, one a row, as its own bytes. */
  exportLines(): Promise<Blob>;
  /** Read in when it is asked for. */
  carrying(): Promise<Carrying>;
  /** Called with every answer of the server, after it has been stored. Returns how to stop. */
  onAnswer(listener: (answer: SyncAnswer) => void): () => void;
  /** A request to the server with this phone's token and a time limit. */
  request(path: string, init?: RequestInit): Promise<Response>;
  /** Removes closed cases older than `keepDays` whose every line a final server has acknowledged.
   * Returns how many lines were removed. */
  clearOld(now: number, keepDays: number): Promise<number>;
  /** Stops timers and closes the store. */
  close(): void;
}

/** Why a line was not saved. `code` is `too_large`, `not_enrolled`, `not_finite`, or a `FailureKind`. */
export class AppendError extends Error {
  readonly code: string;
  constructor(code: string, why: string) {
    super(why);
    this.name = "AppendError";
    this.code = code;
  }
}
