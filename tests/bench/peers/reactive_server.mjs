// An endpoint for the reactive store's replication over HTTP, as its documentation describes one (its own ready-made
// server is not under an open-source licence): node reactive_server.mjs PORT SIDE_PORT FOLDER
import { createServer } from "node:http";
import { DatabaseSync } from "node:sqlite";
import express from "express";

const [port, sidePort, folder] = process.argv.slice(2);
const db = new DatabaseSync(`${folder}/events.db`);
db.exec("PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL");
db.exec("CREATE TABLE events (run TEXT, id TEXT, document TEXT, PRIMARY KEY (run, id))");
const find = db.prepare("SELECT document FROM events WHERE run = ? AND id = ?");
const put = db.prepare("INSERT OR REPLACE INTO events VALUES (?, ?, ?)");
const count = db.prepare("SELECT count(*) AS held FROM events WHERE run = ?");

const app = express();
app.use(express.json({ limit: "50mb" }));
app.post("/push/:run", (request, response) => {
  const conflicts = [];
  db.exec("BEGIN IMMEDIATE");
  for (const { assumedMasterState, newDocumentState } of request.body) {
    const stands = find.get(request.params.run, newDocumentState.id);
    const assumed = assumedMasterState ? JSON.stringify(assumedMasterState) : undefined;
    if (stands?.document !== assumed) conflicts.push(JSON.parse(stands?.document ?? "null"));
    else put.run(request.params.run, newDocumentState.id, JSON.stringify(newDocumentState));
  }
  db.exec("COMMIT");
  response.json(conflicts);
});
app.listen(Number(port), "127.0.0.1");

createServer((request, response) => {
  response.end(String(count.get(request.url.slice(1)).held));
}).listen(Number(sidePort), "127.0.0.1");
