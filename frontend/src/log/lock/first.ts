/** The first PIN on a phone: all its lines are encrypted, and the keys are stored with them, all or nothing. */
import type { IDBPTransaction } from "idb";
import { type Database, LOCKED_VERSION, type LogSchema, type Row, type StoredRow } from "../db";
import type { StoredRefused } from "../hiding";
import { type Head, NO_HEAD } from "../line";
import { Unlocked } from "./hiding";
import { type LockKeys, type Opened, unlocked } from "./keys";

/** Another tab may write while the lines are encrypted; then it is done again, so many times. */
const ROUNDS = 5;
/** So many at a time, so that the page still answers. */
const AT_ONCE = 200;

interface Found {
  head: Head;
  lines: StoredRow[];
  refused: StoredRefused[];
}

class Moved extends Error {}

type Raising = IDBPTransaction<LogSchema, ("exchange" | "lines" | "meta" | "refused")[], "versionchange">;

async function found(database: Database): Promise<Found> {
  return database.run(async (db) => {
    const tx = db.transaction(["lines", "meta", "refused"]);
    const [head, lines, refused] = await Promise.all([
      tx.objectStore("meta").get("head"),
      tx.objectStore("lines").getAll(),
      tx.objectStore("refused").getAll(),
    ]);
    return { head: (head as Head | undefined) ?? NO_HEAD, lines, refused };
  });
}

function isPlain(row: StoredRow): row is Row {
  return row.form === "plain";
}

/** Each encrypted, opened again and compared. */
async function encrypted(hiding: Unlocked, rows: readonly Row[]): Promise<StoredRow[]> {
  const done: StoredRow[] = [];
  for (let at = 0; at < rows.length; at += AT_ONCE) {
    const some = rows.slice(at, at + AT_ONCE);
    const hidden = await Promise.all(some.map((row) => hiding.hide(row)));
    const back = await hiding.show(hidden);
    const same = some.every((row, n) => back[n]?.id === row.id && back[n]?.raw === row.raw);
    if (!same) throw new Error("a line did not come back as it was: nothing was changed");
    done.push(...hidden);
  }
  return done;
}

interface Hidden {
  lines: StoredRow[];
  refused: StoredRefused[];
}

async function written(tx: Raising, from: Found, to: Hidden, keys: LockKeys): Promise<void> {
  const [lines, meta, refused] = [tx.objectStore("lines"), tx.objectStore("meta"), tx.objectStore("refused")];
  const head = ((await meta.get("head")) as Head | undefined) ?? NO_HEAD;
  const same = head.seq === from.head.seq && head.sha256 === from.head.sha256;
  const counts = [await lines.count(), await refused.count()];
  if (!same || counts[0] !== from.lines.length || counts[1] !== from.refused.length) throw new Moved();
  if ((await meta.get("lock")) !== undefined) throw new Error("this phone has PINs already");
  for (const row of to.lines) await lines.put(row);
  for (const row of to.refused) await refused.put(row);
  await meta.put(keys, "lock");
}

/** Raises where it can't be done: then nothing was changed. `name` and `pin` open `keys`; they are tried before
 * anything is encrypted by them. */
export async function encryptStore(
  database: Database,
  keys: LockKeys,
  opened: Opened,
  name: string,
  pin: string,
): Promise<void> {
  if (!(await unlocked(keys, name, pin))) throw new Error("the new PIN does not open the phone's new keys");
  for (let round = 1; ; round++) {
    const from = await found(database);
    if (!from.lines.every(isPlain)) throw new Error("this phone has PINs already");
    const hiding = new Unlocked(keys, opened);
    const hidden: Hidden = {
      lines: await encrypted(hiding, from.lines.filter(isPlain)),
      refused: await Promise.all(from.refused.map((line) => hiding.refusals.hide(line))),
    };
    try {
      await database.raise(LOCKED_VERSION, (tx) => written(tx, from, hidden, keys), hiding);
      // a raise asks for no lasting write; this does, and what came before it lasts with it
      await database.run(async (db) => {
        const tx = db.transaction("meta", "readwrite", { durability: "strict" });
        const now = await tx.store.get("lock");
        if (now !== undefined) await tx.store.put(now, "lock");
        await tx.done;
      });
      return;
    } catch (error) {
      if (!(error instanceof Moved) || round === ROUNDS) throw error;
    }
  }
}
