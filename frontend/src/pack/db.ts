/** The shelf's own IndexedDB database. Packs are kept as the bytes that were proved. */
import { type DBSchema, type IDBPDatabase, openDB } from "idb";
import type { Recall } from "../types.gen";
import type { RefusedPack } from "./types";

export interface Slots {
  current: string | null;
  waiting: string | null;
}

export interface PackSchema extends DBSchema {
  packs: { key: string; value: { sha256: string; bytes: Uint8Array; keptAt: number } };
  slots: { key: "slots"; value: Slots };
  recalls: { key: string; value: Recall };
  refused: { key: string; value: RefusedPack };
}

export type PackDb = IDBPDatabase<PackSchema>;
export const PACK_DB = "chinrest-pack";

const LOST_CONNECTION = new Set(["InvalidStateError", "UnknownError"]);

function lost(error: unknown): boolean {
  return (
    typeof error === "object" && error !== null && "name" in error && LOST_CONNECTION.has(String(error.name))
  );
}

/** One way in; opens once more when the browser has dropped the connection. */
export class PackStore {
  private opening: Promise<PackDb> | null = null;

  constructor(private readonly name: string = PACK_DB) {}

  private open(): Promise<PackDb> {
    if (this.opening) return this.opening;
    const opening: Promise<PackDb> = openDB<PackSchema>(this.name, 1, {
      upgrade: (db, from) => {
        if (from < 1) {
          db.createObjectStore("packs", { keyPath: "sha256" });
          db.createObjectStore("slots");
          db.createObjectStore("recalls", { keyPath: "sha256" });
          db.createObjectStore("refused", { keyPath: "sha256" });
        }
      },
      blocking: () => this.drop(opening),
      terminated: () => this.drop(opening),
    });
    this.opening = opening;
    opening.catch(() => this.drop(opening)); // a failed open is never kept; whoever asked has the error
    return opening;
  }

  private drop(opening: Promise<PackDb>): void {
    if (this.opening === opening) this.opening = null;
    opening.then(
      (db) => db.close(),
      () => undefined, // never opened: nothing to close
    );
  }

  async run<T>(work: (db: PackDb) => Promise<T>): Promise<T> {
    const opening = this.open();
    try {
      return await work(await opening);
    } catch (error) {
      if (!lost(error)) throw error;
      this.drop(opening);
      return work(await this.open());
    }
  }

  close(): void {
    if (this.opening) this.drop(this.opening);
  }
}
