// One shared document in the browser that holds every event. Run at its sync server's origin.
import { HocuspocusProvider } from "@hocuspocus/provider";
import { IndexeddbPersistence } from "y-indexeddb";
import * as Y from "yjs";
import { type Event, eventsOf } from "../sync/events";

let doc: Y.Doc;
let events: Y.Array<Event>;
let kept: IndexeddbPersistence;
let run = "";

async function open(name: string): Promise<void> {
  run = name;
  doc = new Y.Doc();
  events = doc.getArray("events");
  kept = new IndexeddbPersistence(name, doc);
  await kept.whenSynced;
}

/** Waits for the writes before it: a read of the same store begins only when they have ended. */
async function stored(): Promise<void> {
  const db = (kept as unknown as { db: IDBDatabase }).db;
  const read = db.transaction("updates").objectStore("updates").count();
  await new Promise((resolve, reject) => {
    read.onsuccess = resolve;
    read.onerror = reject;
  });
}

async function write(count: number): Promise<void> {
  doc.transact(() => events.push(eventsOf(count)));
  await stored();
}

/** Until the server's document, in its memory, holds as many events as this one. */
async function sync(): Promise<number> {
  const began = performance.now();
  const url = location.origin.replace("http", "ws");
  await new Promise<void>((resolve) => {
    const provider: HocuspocusProvider = new HocuspocusProvider({
      url,
      name: run,
      document: doc,
      onSynced: () => provider.sendStateless("how many?"),
      onStateless: ({ payload }) => {
        if (Number(payload) < events.length) {
          provider.sendStateless("how many?");
          return;
        }
        resolve();
        provider.destroy();
      },
    });
  });
  return performance.now() - began;
}

async function tap(): Promise<number> {
  const [event] = eventsOf(1) as [Event];
  const began = performance.now();
  events.push([event]);
  await stored();
  return performance.now() - began;
}

Object.assign(globalThis, { bench: { open, write, sync, tap } });
