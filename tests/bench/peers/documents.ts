// The document store in the browser: each event is a document. Run at its server's origin.
import PouchDB from "pouchdb-browser";
import { type Event, eventsOf } from "../sync/events";

const BATCH_SIZE = 1000; // its default is 100, which was slower here
let db: PouchDB.Database;
let run = "";

const asDocument = ({ id, ...rest }: Event): object => ({ _id: id, ...rest });

async function open(name: string): Promise<void> {
  run = name;
  db = new PouchDB(name);
  await db.info();
}

async function write(count: number): Promise<void> {
  const said = await db.bulkDocs(eventsOf(count).map(asDocument));
  if (said.some((one) => "error" in one)) throw new Error("not written");
}

async function sync(): Promise<number> {
  const began = performance.now();
  const said = await db.replicate.to(`${location.origin}/${run}`, { batch_size: BATCH_SIZE });
  if (!said.ok || said.doc_write_failures > 0) throw new Error("not replicated");
  return performance.now() - began;
}

async function tap(): Promise<number> {
  const [event] = eventsOf(1) as [Event];
  const began = performance.now();
  await db.put(asDocument(event));
  return performance.now() - began;
}

Object.assign(globalThis, { bench: { open, write, sync, tap } });
