/** Sees to it that the server knows the token that this phone sends by while it is locked. The phone makes it, and tells
 * its hash at each unlock: asking twice is asking once, and a server that was set back learns it again, if need be by
 * the full token that it knew then. */
import type { TokensRequest } from "../../types.gen";
import { sha256 } from "../bytes";
import type { Database, Meta } from "../db";
import { type Env, fetchWithin } from "../env";
import { json } from "../line";
import { SYNC_LOCK } from "../sync/loop";
import { signature } from "../sync/request";
import { inTransaction } from "../tx";
import type { LockKeys, Opened } from "./keys";
import { hiddenToken, newToken, readyToHide } from "./tokens";

const ANSWER_LIMIT_MS = 20_000;

type Kept = Meta["device"];

interface Made {
  send: string;
  /** Empty where it stays. */
  full: string;
}

/** Their hashes, signed by the phone's own key. */
export async function requestOf(
  { server, id }: Pick<Kept, "server" | "id">,
  keys: Pick<CryptoKeyPair, "privateKey">,
  made: Made,
): Promise<TokensRequest> {
  const send = await sha256(made.send);
  const full = made.full && (await sha256(made.full));
  // the same text that the server looks at
  return { send, full, signature: await signature(keys, `chinrest tokens ${server} ${id} ${send} ${full}`) };
}

/** The status of the answer. Raises where none came. */
async function asked(env: Env, by: string, path: string, init: RequestInit = {}): Promise<number> {
  const headers = { "Content-Type": "application/json", Authorization: `Bearer ${by}` };
  const how = { ...init, headers, cache: "no-store", credentials: "omit" } as const;
  return (await fetchWithin(env, ANSWER_LIMIT_MS, path, how)).status;
}

/** False where the server did not take them: it does not know `by`, or is an older one. */
async function told(env: Env, device: Kept, keys: CryptoKeyPair, by: string, made: Made): Promise<boolean> {
  const body = json(await requestOf(device, keys, made));
  return (await asked(env, by, "/api/tokens", { method: "POST", body })) === 204;
}

/** False, and nothing written, where the phone was enrolled anew meanwhile. */
async function replaced(database: Database, before: Kept, after: Kept): Promise<boolean> {
  return database.run((db) => {
    const tx = db.transaction("meta", "readwrite", { durability: "strict" });
    return inTransaction(tx, async () => {
      const now = (await tx.store.get("device")) as Kept | undefined;
      if (now?.token === after.token) return true; // done by a first run, whose connection was lost
      if (now?.token !== before.token) return false;
      await tx.store.put(after, "device");
      return true;
    });
  });
}

/** As the phone was by its former full token, where the server knows that one and not the one of today: it was set back
 * to a time before. Null where it was not. */
async function setBack(env: Env, device: Kept, opened: Opened, full: string): Promise<Kept | null> {
  const former = await hiddenToken(opened, device, device.former);
  if (!former || (await asked(env, full, "/api/seal-key")) !== 401) return null;
  if ((await asked(env, former, "/api/seal-key")) !== 200) return null;
  const { full: _full, former: _former, ...rest } = device;
  return { ...rest, token: former };
}

/** Another full token in place of the one that stands readable, and one to send by. */
async function made(
  env: Env,
  database: Database,
  lock: LockKeys,
  device: Kept,
  keys: CryptoKeyPair,
): Promise<void> {
  const [send, full] = [newToken(), newToken()];
  const [hide, hideFormer] = [await readyToHide(lock), await readyToHide(lock)];
  const hidden = { full: await hide(full), former: await hideFormer(device.token) };
  if (!(await told(env, device, keys, device.token, { send, full }))) return;
  const after = { ...device, token: send, ...hidden };
  if (!(await replaced(database, device, after))) return;
  // the first use of the new one ends the one before
  await told(env, after, keys, full, { send, full: "" });
}

/** While the phone is unlocked. Where the full token stands readable, another takes its place, sealed: what may linger
 * of the one before in the browser's files is worth nothing from then on. True where the phone goes by its former token
 * again, because the server was set back. Raises where no answer came; then all is as it was. */
export function provide(env: Env, database: Database, lock: LockKeys, opened: Opened): Promise<boolean> {
  // no round may be under way by the token that ends here
  return env.lock(SYNC_LOCK, false, async () => {
    const [device, keys] = await database.run((db) => {
      const { store } = db.transaction("meta");
      return Promise.all([
        store.get("device") as Promise<Kept | undefined>,
        store.get("keys") as Promise<CryptoKeyPair | undefined>,
      ]);
    });
    if (!device || !keys) return false;
    if (device.full === undefined) {
      await made(env, database, lock, device, keys);
      return false;
    }
    const full = await hiddenToken(opened, device, device.full);
    if (!full || (await told(env, device, keys, full, { send: device.token, full: "" }))) return false;
    const before = await setBack(env, device, opened, full);
    if (!before || !(await replaced(database, device, before))) return false;
    await made(env, database, lock, before, keys);
    return true;
  });
}
