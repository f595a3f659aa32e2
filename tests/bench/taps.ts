/** Taps on the log and bare puts, in turn. */
import type { openLog } from "../../frontend/src/log";

/** Milliseconds each. */
export type Times = { ours: number[]; bare: number[] };

const PAUSE_MS = 100;

export function bareStore(): Promise<IDBDatabase> {
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

/** A moment apart, as a hurried person makes them, with the exchange going on behind them. Ours and the bare put take
 * turns, so that both meet the same disk. */
export async function taps(
  log: Awaited<ReturnType<typeof openLog>>,
  db: IDBDatabase,
  count: number,
  actor: string | null,
): Promise<Times> {
  const at = { case: log.newCase(), practice: true, pack: null, actor };
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
  return times;
}
