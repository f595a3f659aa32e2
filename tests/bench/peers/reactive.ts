// The reactive store in the browser, over IndexedDB: each event is a document. Run at its endpoint's origin.
import { createRxDatabase, type RxCollection } from "rxdb";
import { replicateRxCollection } from "rxdb/plugins/replication";
import { getRxStorageDexie } from "rxdb/plugins/storage-dexie";
import { type Event, eventsOf } from "../sync/events";

const BATCH_SIZE = 1000; // its default is 100, which was slower here
const text = { type: "string" } as const;
const SCHEMA = {
  version: 0,
  primaryKey: "id",
  type: "object",
  properties: {
    id: { type: "string", maxLength: 36 },
    at: { type: "number" },
    mono: { type: "number" },
    boot: text,
    actor: text,
    case: text,
    practice: { type: "boolean" },
    pack: text,
    type: text,
    body: { type: "object" },
  },
  required: ["id", "at", "type", "body"],
} as const;

let events: RxCollection<Event>;
let run = "";

async function open(name: string): Promise<void> {
  run = name;
  const db = await createRxDatabase({ name, storage: getRxStorageDexie(), multiInstance: false });
  const made = await db.addCollections({ events: { schema: SCHEMA } });
  events = made.events as RxCollection<Event>;
}

async function write(count: number): Promise<void> {
  const { error } = await events.bulkInsert(eventsOf(count));
  if (error.length > 0) throw new Error("not written");
}

async function sync(): Promise<number> {
  const began = performance.now();
  const state = replicateRxCollection<Event, unknown>({
    collection: events,
    replicationIdentifier: `${location.origin}/push/${run}`,
    live: false,
    push: {
      batchSize: BATCH_SIZE,
      async handler(rows) {
        const headers = { "Content-Type": "application/json" };
        const body = JSON.stringify(rows);
        return (await fetch(`/push/${run}`, { method: "POST", headers, body })).json();
      },
    },
  });
  state.error$.subscribe((error) => console.error(error));
  await state.awaitInitialReplication();
  const took = performance.now() - began;
  await state.cancel();
  return took;
}

async function tap(): Promise<number> {
  const [event] = eventsOf(1) as [Event];
  const began = performance.now();
  await events.insert(event);
  return performance.now() - began;
}

Object.assign(globalThis, { bench: { open, write, sync, tap } });
