// The document store's own server, over LevelDB: node documents_server.mjs PORT SIDE_PORT FOLDER
import { createServer } from "node:http";
import express from "express";
import expressPouchDb from "express-pouchdb";
import leveldb from "pouchdb-adapter-leveldb";
import PouchDB from "pouchdb-core";
import mapreduce from "pouchdb-mapreduce";
import replication from "pouchdb-replication";

const [port, sidePort, folder] = process.argv.slice(2);
const plugin = (of) => of.default ?? of;
const Kept = plugin(PouchDB)
  .plugin(plugin(leveldb))
  .plugin(plugin(mapreduce))
  .plugin(plugin(replication))
  .defaults({ prefix: `${folder}/` });

const app = express();
// as its documentation has it for a server that only speaks to its own browsers' library
app.use("/", expressPouchDb(Kept, { mode: "minimumForPouchDB", inMemoryConfig: true, logPath: `${folder}/log.txt` }));
app.listen(Number(port), "127.0.0.1");

// how many events a run's database holds, for the check
createServer(async (request, response) => {
  const { doc_count } = await new Kept(request.url.slice(1)).info();
  response.end(String(doc_count));
}).listen(Number(sidePort), "127.0.0.1");
