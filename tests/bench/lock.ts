/** A phone with PINs. Each phone is a database of its own in one browser; no two are open at once. */
import { openLog } from "../../frontend/src/log";
import { sha256, uuid4, uuid7 } from "../../frontend/src/log/bytes";
import { Database, type Row } from "../../frontend/src/log/db";
import { browserEnv } from "../../frontend/src/log/env";
import { bodyText, type Head, NO_HEAD, nextLine } from "../../frontend/src/log/line";
import { bareStore, type Times, taps } from "./taps";

type Log = Awaited<ReturnType<typeof openLog>>;

const [NAME, PIN] = ["bench", "a passphrase of the bench"];
const LINES_OF_A_CASE = 200;
const SENT_WITHIN_MS = 60_000;

async function enrolled(code: string, database: string): Promise<Log> {
  const log = await openLog(browserEnv(), database);
  const said = await log.enrol(code, "bench");
  if (!said.ok) throw new Error(said.fault.why);
  return log;
}

async function setFirst(log: Log): Promise<number> {
  const began = performance.now();
  const set = await (await log.lock()).setFirst(NAME, PIN);
  if (!set.ok) throw new Error(set.fault.why);
  return performance.now() - began;
}

function sent(log: Log): Promise<void> {
  return new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(JSON.stringify(log.sync.peek()))), SENT_WITHIN_MS);
    const stop = log.sync.subscribe(({ waiting, state }) => {
      if (waiting > 0 || state === "sending") return;
      clearTimeout(late);
      resolve();
      queueMicrotask(() => stop()); // it may be told before it has a name
    });
  });
}

/** A new phone: the first PIN in ms, then taps unlocked. */
export async function firstPin(
  code: string,
  database: string,
  count: number,
): Promise<{ set: number; unlocked: Times }> {
  const log = await enrolled(code, database);
  const set = await setFirst(log);
  const unlocked = await taps(log, await bareStore(), count, NAME);
  await sent(log);
  log.close();
  return { set, unlocked };
}

/** The app's own lines in one chain, stored in one go: each appended by itself would take minutes. */
async function stored(database: string, device: string, from: Head, lines: number): Promise<void> {
  const rows: Row[] = [];
  const boot = uuid4();
  let head = from;
  let of = "";
  for (let n = 0; n < lines; n++) {
    if (n % LINES_OF_A_CASE === 0) of = uuid4();
    const at = Date.now();
    const body = bodyText({ score: 2, bothers: ["light"], note: "" });
    const id = uuid7(at);
    const stamp = { id, at, mono: n, boot, actor: NAME, case: of, practice: true, pack: null };
    const next = await nextLine(device, head, { ...stamp, type: "comfort.noted" }, body, await sha256(body));
    head = next.head;
    rows.push({ device, seq: head.seq, id, case: of, form: "plain", raw: next.raw });
  }
  const base = new Database(() => undefined, database);
  await base.run(async (db) => {
    const tx = db.transaction(["lines", "meta"], "readwrite", { durability: "strict" });
    const at = ((await tx.objectStore("meta").get("head")) as Head | undefined) ?? NO_HEAD;
    if (at.sha256 !== from.sha256) throw new Error("the chain has moved");
    for (const row of rows) await tx.objectStore("lines").add(row);
    await tx.objectStore("meta").put(head, "head");
    await tx.done;
  });
  base.close();
}

async function headOf(database: string): Promise<Head> {
  const base = new Database(() => undefined, database);
  const head = await base.run((db) => db.get("meta", "head"));
  base.close();
  return (head as Head | undefined) ?? NO_HEAD;
}

/** A phone with so many lines, which the server has, and the first PIN on it: that in ms. */
export async function fill(code: string, database: string, lines: number): Promise<number> {
  let log = await enrolled(code, database);
  await sent(log);
  const device = log.device.peek()?.id ?? "";
  log.close();
  await stored(database, device, await headOf(database), lines);
  log = await openLog(browserEnv(), database);
  await sent(log);
  const set = await setFirst(log);
  await sent(log);
  log.close();
  return set;
}

/** Each start of such a phone, locked, in ms, and its unlock up to the cases; in the last one, taps while it is
 * locked. */
export async function starts(
  database: string,
  times: number,
  cases: number,
  count: number,
): Promise<{ start: number[]; unlock: number[]; locked: Times }> {
  const out = { start: [] as number[], unlock: [] as number[], locked: { ours: [], bare: [] } as Times };
  for (let n = 0; n < times; n++) {
    let began = performance.now();
    const log = await openLog(browserEnv(), database);
    out.start.push(performance.now() - began);
    if (log.lockView.peek().state !== "locked") throw new Error("not locked");
    if (n === times - 1) out.locked = await taps(log, await bareStore(), count, null);
    began = performance.now();
    const opened = await (await log.lock()).unlock(NAME, PIN);
    if (!opened.ok || log.cases.peek().length < cases) throw new Error("not unlocked");
    out.unlock.push(performance.now() - began);
    await sent(log);
    log.close();
  }
  return out;
}
