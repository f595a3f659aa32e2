// The shared document's own sync server, over SQLite: node shared_server.mjs PORT SIDE_PORT FOLDER
import { createServer } from "node:http";
import { DatabaseSync } from "node:sqlite";
import { Server } from "@hocuspocus/server";
import * as Y from "yjs";

const [port, sidePort, folder] = process.argv.slice(2);
const db = new DatabaseSync(`${folder}/documents.db`);
db.exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL");
db.exec("CREATE TABLE documents (name TEXT PRIMARY KEY, state BLOB)");
const find = db.prepare("SELECT state FROM documents WHERE name = ?");
const put = db.prepare("INSERT OR REPLACE INTO documents VALUES (?, ?)");
const lengthOf = (document) => document.getArray("events").length;

const server = new Server({
  port: Number(port),
  address: "127.0.0.1",
  quiet: true,
  async onLoadDocument({ document, documentName }) {
    const stored = find.get(documentName);
    if (stored) Y.applyUpdate(document, stored.state);
  },
  async onStoreDocument({ document, documentName }) {
    put.run(documentName, Y.encodeStateAsUpdate(document));
  },
  // the page asks how far the document here has come
  async onStateless({ connection, document }) {
    connection.sendStateless(String(lengthOf(document)));
  },
});
await server.listen();

// how many events the stored document holds, for the check
createServer((request, response) => {
  const stored = find.get(request.url.slice(1));
  const document = new Y.Doc();
  if (stored) Y.applyUpdate(document, stored.state);
  response.end(String(lengthOf(document)));
}).listen(Number(sidePort), "127.0.0.1");
