/** Whether what was given could not be opened: another key, changed since, or no base64 at all. */
import { nameOf } from "../db";

const NOT_OPENED = new Set(["OperationError", "DataError", "InvalidCharacterError"]);

/** Null where the work fails for that reason; any other failure is thrown on. */
export async function ifOpened<T>(work: Promise<T>): Promise<T | null> {
  try {
    return await work;
  } catch (error) {
    if (NOT_OPENED.has(nameOf(error))) return null;
    throw error;
  }
}
