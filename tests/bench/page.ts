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

Object.assign(globalThis, { bench: { appends, fits } });
