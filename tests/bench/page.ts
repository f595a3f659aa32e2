// Bundled by phone_side.py and run in the browser at the served origin: the real front-end code, beside a bare put.
import { fit } from "../../frontend/src/kernel";
import { openLog } from "../../frontend/src/log";
import type { FitRequest, Pack } from "../../frontend/src/types.gen";

type Times = { ours: number[]; bare: number[] };

function bareStore(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open("bench-bare", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("rows", { autoIncrement: true });
    opening.onsuccess = () => resolve(opening.result);
    opening.onerror = () => reject(opening.error);
  });
}

function put(db: IDBDatabase, row: string): Promise<void> {
  return new Promise((resolve, reject) => {
    const change = db.transaction("rows", "readwrite", { durability: "strict" });
    change.objectStore("rows").put(row);
    change.oncomplete = () => resolve();
    change.onabort = () => reject(change.error);
  });
}

const PAUSE_MS = 100;

/** Taps a moment apart, as a hurried person makes them, with the exchange going on behind them. Ours and the bare
 * put take turns, so that both meet the same disk. */
async function appends(code: string, count: number): Promise<Times> {
  const log = await openLog();
  const enrolled = await log.enrol(code, "bench");
  if (!enrolled.ok) throw new Error(enrolled.fault.why);
  const db = await bareStore();
  const at = { case: log.newCase(), practice: true, pack: null, actor: "bench" };
  const row = "x".repeat(600);
  const times: Times = { ours: [], bare: [] };
  for (let i = 0; i < count; i++) {
    await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
    let began = performance.now();
    await log.append("comfort.noted", { score: 2, bothers: ["light"], note: "" }, at);
    times.ours.push(performance.now() - began);
    await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
    began = performance.now();
    await put(db, row);
    times.bare.push(performance.now() - began);
  }
  log.close();
  return times;
}

function fits(pack: Pack, requests: FitRequest[]): number[] {
  return requests.map((request) => {
    const began = performance.now();
    fit(pack, request);
    return performance.now() - began;
  });
}

type LockTimes = {
  set: number;
  unlocked: Times;
  locked: Times;
  start: number[];
  unlock: number[];
  lines: number;
};

const [NAME, PIN] = ["bench", "a passphrase of the bench"];

async function taps(log: Awaited<ReturnType<typeof openLog>>, db: IDBDatabase, count: number): Promise<Times> {
  const at = { case: log.newCase(), practice: true, pack: null, actor: null };
  const times: Times = { ours: [], bare: [] };
  for (let i = 0; i < count; i++) {
    await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
    let began = performance.now();
    await log.append("comfort.noted", { score: 2, bothers: ["light"], note: "" }, at);
    times.ours.push(performance.now() - began);
    await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
    began = performance.now();
    await put(db, "x".repeat(600));
    times.bare.push(performance.now() - began);
  }
  return times;
}

/** A phone with PINs: taps unlocked and locked, and a start with so many lines, up to the cases that are shown. */
async function locked(code: string, count: number, lines: number, starts: number): Promise<LockTimes> {
  let log = await openLog();
  const enrolled = await log.enrol(code, "bench");
  if (!enrolled.ok) throw new Error(enrolled.fault.why);
  const db = await bareStore();
  let began = performance.now();
  const set = await (await log.lock()).setFirst(NAME, PIN);
  if (!set.ok) throw new Error(set.fault.why);
  const out: LockTimes = {
    set: performance.now() - began,
    unlocked: await taps(log, db, count),
    locked: { ours: [], bare: [] },
    start: [],
    unlock: [],
    lines,
  };
  const cases = Math.ceil(lines / 200);
  for (let n = 0; n < cases; n++) {
    const at = { case: log.newCase(), practice: true, pack: null, actor: null };
    const some = Array.from({ length: 200 }, () =>
      log.append("comfort.noted", { score: 2, bothers: ["light"], note: "" }, at),
    );
    await Promise.all(some);
  }
  for (let n = 0; n < starts; n++) {
    log.close();
    began = performance.now();
    log = await openLog();
    out.start.push(performance.now() - began);
    if (n === starts - 1) out.locked = await taps(log, db, count);
    began = performance.now();
    const opened = await (await log.lock()).unlock(NAME, PIN);
    if (!opened.ok || log.cases.peek().length < cases) throw new Error("not unlocked");
    out.unlock.push(performance.now() - began);
  }
  log.close();
  return out;
}

Object.assign(globalThis, { bench: { appends, fits, locked } });
