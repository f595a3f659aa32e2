import { useEffect, useState } from "preact/hooks";
import type { CarryingState } from "../../log";
import { Button, Loading, Notice } from "../../ui";
import { app } from "../app";
import { clock, count } from "../words";
import { GiveFile } from "./GiveFile";
import { OpenFile } from "./OpenFile";

interface Made {
  name: string;
  text: string;
  lines: number;
  left: number;
}

/** Lines that go by file, where there is no network: out to the server's desk, and its answer back. */
export function HandOver() {
  const { waiting } = app.log.sync.value;
  const [held, setHeld] = useState<CarryingState | null>(null);
  const [made, setMade] = useState<Made | null>(null);
  const [busy, setBusy] = useState(false);
  const [trouble, setTrouble] = useState("");

  const look = async (): Promise<void> => setHeld(await (await app.log.carrying()).state());
  useEffect(() => {
    look().catch((error: unknown) => setTrouble(String(error)));
  }, [waiting]);

  const make = async (): Promise<void> => {
    setBusy(true);
    setTrouble("");
    try {
      const result = await (await app.log.carrying()).make();
      if (result.ok) setMade(result);
      else setTrouble(result.fault.why);
      await look();
    } catch (error) {
      setTrouble(`The file could not be made (${String(error)}). Nothing was changed; try again.`);
    } finally {
      setBusy(false);
    }
  };

  return (
    <section class="stack" aria-labelledby="hand-over">
      <h2 id="hand-over">Hand over by file</h2>
      <p>
        Where no link will come back soon: one file of the lines that wait, which only the clinic's server can
        open. Send it or carry it to the desk in any way. The desk takes it in and gives an answer file back.
        Until that answer is opened here, or the server is reached, the lines go on waiting.
      </p>
      {held === null && !trouble && <Loading>Looking what waits…</Loading>}
      {held && !held.ready && (
        <Notice kind="warn" title="No such file can be made yet">
          <p>
            This phone does not know the key of the server that is to open it. It learns that when it next
            reaches the server. If this stays, ask the clinic lead for a new code and enrol it again.
          </p>
        </Notice>
      )}
      <Button wide disabled={busy || !held?.ready || held.waiting === 0} onClick={() => void make()}>
        {busy ? "Making the file…" : "Make the file"}
      </Button>
      {trouble && (
        <Notice kind="danger" title="That did not go" loud>
          <p>{trouble}</p>
        </Notice>
      )}
      {made && waiting > 0 && (
        <Notice kind="done" title="The file is ready">
          <p role="status">
            {count(made.lines, "line is", "lines are")} in it, {Math.ceil(made.text.length / 1000)} kB.
            {made.left > 0 &&
              ` ${count(made.left, "line", "lines")} did not fit: make another once this one is answered.`}
          </p>
          <GiveFile name={made.name} text={made.text} />
        </Notice>
      )}
      {held && held.files.length > 0 && (
        <ul class="list" aria-label="Files that were made here">
          {held.files.slice(0, 5).map((file) => (
            <li key={file.at}>
              File of {clock(file.at)}, {count(file.lines, "line", "lines")}:{" "}
              {file.takenAt === null ? "no answer yet" : `taken by the server ${clock(file.takenAt)}`}
            </li>
          ))}
        </ul>
      )}
      <OpenFile onOpened={() => void look()} />
    </section>
  );
}
