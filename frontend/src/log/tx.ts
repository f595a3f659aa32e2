/** Runs work inside one transaction and counts it as done on `complete` only. */
import { nameOf } from "./db";

interface Tx {
  readonly done: Promise<void>;
  abort(): void;
}

/** Resolves with the work's result once the transaction has completed. When anything fails, the transaction is
 * aborted as a whole and the reason thrown is the store's own (a full disk, say) where it has one. */
export async function inTransaction<T>(tx: Tx, work: () => Promise<T>): Promise<T> {
  const ended = tx.done.then(
    () => null,
    (error: unknown) => ({ error }),
  );
  let result: T;
  try {
    result = await work();
  } catch (error) {
    abort(tx);
    const failed = await ended;
    throw failed && nameOf(failed.error) !== "AbortError" ? failed.error : error;
  }
  const failed = await ended;
  if (failed) throw failed.error;
  return result;
}

function abort(tx: Tx): void {
  try {
    tx.abort();
  } catch (error) {
    // it has ended already, which is what was wanted
    if (nameOf(error) !== "InvalidStateError") throw error;
  }
}
