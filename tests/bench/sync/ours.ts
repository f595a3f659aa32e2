// Bundled by pages.py and run in the browser at our server's origin: the real log and exchange, and beside them the
// bare limit, which reads the very same lines out of the same store.
import { openDB } from "idb";
import { type Log, openLog } from "../../../frontend/src/log";
import { base64, sha256, utf8 } from "../../../frontend/src/log/bytes";
import { DB_NAME, type LogSchema, type Row } from "../../../frontend/src/log/db";
import { bodyText, envelopeText, type Head, NO_HEAD, nextLine } from "../../../frontend/src/log/line";
import { gzip } from "../../../frontend/src/log/sync/request";
import { eventsOf } from "./events";

let log: Log | null = null;

function opened(): Log {
  if (!log) throw new Error("the log is not open");
  return log;
}

function settled(wanted: (log: Log) => boolean): Promise<void> {
  const here = opened();
  return new Promise((resolve) => {
    const off = here.sync.subscribe(() => {
      if (wanted(here)) queueMicrotask(() => resolve(off()));
    });
  });
}

const atRest = ({ sync }: Log): boolean => sync.peek().state === "idle" && sync.peek().waiting === 0;

/** Enrols, and waits until the first lines are over. */
async function enrol(code: string): Promise<void> {
  log = await openLog();
  const said = await log.enrol(code, "bench");
  if (!said.ok) throw new Error(said.fault.why);
  await settled(atRest);
  log.close();
}

/** Writes lines as the writer does, by its own functions, but in one transaction: ten thousand strict ones, one after
 * the other, would take most of a minute and are not what is measured. The log is closed, or finds them there as if
 * another tab had written them. */
async function write(count: number): Promise<void> {
  const db = await openDB<LogSchema>(DB_NAME);
  const device = (await db.get("meta", "device")) as { id: string };
  let head = ((await db.get("meta", "head")) as Head | undefined) ?? NO_HEAD;
  const rows: Row[] = [];
  for (const { body, ...stamp } of eventsOf(count)) {
    const text = bodyText(body);
    const next = await nextLine(device.id, head, stamp, text, await sha256(text));
    head = next.head;
    const { id, seq } = next.envelope;
    rows.push({ device: device.id, seq, id, case: stamp.case, form: "plain", raw: next.raw });
  }
  const tx = db.transaction(["lines", "meta"], "readwrite", { durability: "strict" });
  for (const row of rows) void tx.objectStore("lines").add(row);
  void tx.objectStore("meta").put(head, "head");
  await tx.done;
  db.close();
}

async function open(): Promise<void> {
  log = await openLog();
}

function close(): void {
  log?.close();
  log = null;
}

/** Until the link is found to be down. */
async function noticeShut(): Promise<void> {
  opened().syncNow();
  await settled(({ sync }) => sync.peek().state === "waiting");
}

/** Ms from the press until the server has answered every line. */
async function sync(): Promise<number> {
  const here = opened();
  const began = performance.now();
  here.syncNow();
  await settled(atRest);
  const took = performance.now() - began;
  if (here.sync.peek().refused.length > 0) throw new Error("lines were refused");
  return took;
}

/** The bare limit, one step after the other: reads `count` lines after the first `skip`, packs, sends. Ms in all. */
async function bare(run: string, skip: number, count: number): Promise<{ ms: number; held: number }> {
  const began = performance.now();
  const db = await openDB<LogSchema>(DB_NAME);
  const { id } = (await db.get("meta", "device")) as { id: string };
  const rows = (await db.getAll("lines", IDBKeyRange.bound([id, skip + 1], [id, skip + count]))) as Row[];
  db.close();
  const body = await gzip(rows.map(({ raw }) => `${raw}\n`).join(""));
  const answer = await fetch(`/${run}/${skip + 1}`, { method: "POST", body });
  const held = Number(await answer.text());
  return { ms: performance.now() - began, held };
}

/** Ms from nothing open until one more line is durable. */
async function firstAppend(): Promise<number> {
  const began = performance.now();
  log = await openLog();
  const where = { case: null, practice: false, pack: null, actor: "bench" };
  await log.append("storage.asked", { answer: "granted", quota_bytes: 1 }, where);
  return performance.now() - began;
}

/** The same, bare: opens the store, reads its lines, puts one row. */
async function bareFirstPut(): Promise<number> {
  const began = performance.now();
  const db = await openDB<LogSchema>(DB_NAME);
  const rows = await db.getAll("lines");
  const row = { ...(rows[rows.length - 1] as Row), device: "bare", seq: rows.length };
  const tx = db.transaction("lines", "readwrite", { durability: "strict" });
  void tx.store.put(row);
  tx.commit();
  await tx.done;
  const took = performance.now() - began;
  await db.delete("lines", ["bare", rows.length]);
  db.close();
  return took;
}

/** What the chain and the signature cost the phone: for `batches` parts of its lines a hash of the head and a
 * signature each, as the exchange makes them. Ms. */
async function chainCost(batches: number): Promise<number> {
  const db = await openDB<LogSchema>(DB_NAME);
  const keys = (await db.get("meta", "keys")) as CryptoKeyPair;
  const [row] = (await db.getAll("lines", null, 1)) as Row[];
  db.close();
  const began = performance.now();
  for (let i = 0; i < batches; i++) {
    const head = await sha256(envelopeText(row?.raw ?? ""));
    const how = { name: "ECDSA", hash: "SHA-256" };
    base64(new Uint8Array(await crypto.subtle.sign(how, keys.privateKey, utf8(head))));
  }
  return performance.now() - began;
}

/** Ms of each of `count` taps, ours and a bare strict put in turns. */
async function taps(count: number, pauseMs: number): Promise<{ ours: number[]; bare: number[] }> {
  const here = opened();
  const of = here.newCase();
  const db = await openDB("bench-bare", 1, {
    upgrade: (made) => void made.createObjectStore("rows", { autoIncrement: true }),
  });
  const times = { ours: [] as number[], bare: [] as number[] };
  const rest = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, pauseMs));
  for (let i = 0; i < count; i++) {
    await rest();
    let began = performance.now();
    const where = { case: of, practice: true, pack: null, actor: "bench" };
    await here.append("comfort.noted", { score: 2, bothers: ["light"], note: "" }, where);
    times.ours.push(performance.now() - began);
    await rest();
    began = performance.now();
    const tx = db.transaction("rows", "readwrite", { durability: "strict" });
    void tx.store.put("x".repeat(600));
    await tx.done;
    times.bare.push(performance.now() - began);
  }
  db.close();
  return times;
}

const bench = {
  enrol,
  write,
  open,
  close,
  noticeShut,
  sync,
  bare,
  firstAppend,
  bareFirstPut,
  chainCost,
  taps,
};
Object.assign(globalThis, { bench });
