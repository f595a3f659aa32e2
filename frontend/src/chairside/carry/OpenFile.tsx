import { useState } from "preact/hooks";
import type { Carried, Fault } from "../../types.gen";
import { Button, Notice } from "../../ui";
import { app } from "../app";
import { count } from "../words";
import { GiveFile } from "./GiveFile";

/** No file of ours is larger. */
const LIMIT_BYTES = 16 * 1024 * 1024;

type Said =
  | { what: "opened"; settled: number; refused: number }
  | { what: "lines"; name: string; text: string }
  | { what: "brought"; name: string; carried: Carried }
  | { what: "fault"; why: string };

/** Opens a file that came to this phone: the server's answer to one of its own, or another phone's lines. */
export function OpenFile({ onOpened }: { onOpened: () => void }) {
  const [said, setSaid] = useState<Said | null>(null);
  const [busy, setBusy] = useState(false);

  const doing = async (work: () => Promise<Said>): Promise<void> => {
    setBusy(true);
    setSaid(null);
    try {
      setSaid(await work());
    } catch (error) {
      setSaid({ what: "fault", why: `It could not be read (${String(error)}). Nothing was changed.` });
    } finally {
      setBusy(false);
    }
  };

  const open = async (file: File): Promise<Said> => {
    if (file.size > LIMIT_BYTES) {
      return { what: "fault", why: "The file is too large to be one of these. Nothing was changed." };
    }
    const text = await file.text();
    const result = await (await app.log.carrying()).open(text);
    onOpened();
    if (result.ok) return { what: "opened", settled: result.settled, refused: result.refused };
    if (result.fault.code === "not_an_answer") return { what: "lines", name: file.name, text };
    return { what: "fault", why: result.fault.why };
  };

  return (
    <div class="stack">
      <div class="field">
        <label for="carried-file">Open an answer file, or another phone's file</label>
        <input
          id="carried-file"
          type="file"
          accept=".txt,text/plain"
          disabled={busy}
          onChange={(event) => {
            const input = event.currentTarget;
            const file = input.files?.[0];
            if (!file) return;
            void doing(() => open(file)).then(() => {
              input.value = ""; // so that the same file can be picked again
            });
          }}
        />
      </div>
      {said && <Told said={said} onBring={(file) => void doing(() => bring(file))} />}
    </div>
  );
}

/** To the server, by this phone's link. What became of it is for the phone that wrote it. */
async function bring({ name, text }: { name: string; text: string }): Promise<Said> {
  let answer: Response;
  try {
    answer = await app.log.request("/api/carried", {
      method: "POST",
      headers: { "Content-Type": "application/x-ndjson" },
      body: text,
    });
  } catch {
    return { what: "fault", why: "The server can't be reached from here. Keep the file and bring it later." };
  }
  const value = (await answer.json()) as Carried & Partial<Fault>;
  if (answer.ok) return { what: "brought", name, carried: value };
  return { what: "fault", why: `${value.why ?? `Status ${answer.status}`}. Nothing was taken.` };
}

function Told({ said, onBring }: { said: Said; onBring: (file: { name: string; text: string }) => void }) {
  switch (said.what) {
    case "fault":
      return (
        <Notice kind="danger" title="The file was not taken" loud>
          <p>{said.why}</p>
        </Notice>
      );
    case "opened":
      return (
        <Notice kind="done" title="The server's answer">
          <p role="status">
            {said.settled > 0
              ? `${count(said.settled, "line is", "lines are")} on the server and no longer wait here.`
              : "Nothing new: of the lines that it names, none waited here."}
            {said.refused > 0 &&
              ` ${count(said.refused, "line was", "lines were")} refused; the reasons stand on this page.`}
          </p>
        </Notice>
      );
    case "lines":
      return (
        <Notice title="This is a file of lines">
          <p>
            It is for the server, and nobody else can open it. This phone can bring it there where it has a
            link, and gives you the answer for the phone that made it.
          </p>
          <Button icon="send" onClick={() => onBring(said)}>
            Bring it to the server
          </Button>
        </Notice>
      );
    case "brought": {
      const { label, stored, repeats, refused, receipts } = said.carried;
      return (
        <Notice kind="done" title="The server has it">
          <p role="status">
            {label}: {count(stored, "line", "lines")} stored, {repeats} there before, {refused} refused. Bring
            this answer back to that phone.
          </p>
          <GiveFile name={`${said.name.replace(/\.txt$/, "")}-answer.txt`} text={receipts} />
        </Notice>
      );
    }
  }
}
