import { useState } from "preact/hooks";
import type { Carried } from "../../types.gen";
import { Button } from "../../ui";
import { type Answer, ask } from "../api";
import { Refusal } from "./states";

/** Takes in a phone's lines that came as a file, and gives the answer for that phone. */
export function TakeFile({ onTaken }: { onTaken: () => void }) {
  const [file, setFile] = useState<File | null>(null);
  const [answer, setAnswer] = useState<Answer<Carried> | null>(null);
  const [busy, setBusy] = useState(false);
  async function send(event: Event) {
    event.preventDefault();
    if (!file) return;
    setBusy(true);
    const got = await ask<Carried>("/api/carried", {
      method: "POST",
      body: await file.arrayBuffer(),
      headers: { "Content-Type": "application/x-ndjson" },
    });
    setBusy(false);
    setAnswer(got);
    if (got.state === "ready") onTaken();
  }
  return (
    <form class="card stack desk-narrow" onSubmit={send} aria-labelledby="desk-by-file">
      <h2 id="desk-by-file">Lines that came by file</h2>
      <p class="quiet">
        A phone without a network can hand over its lines as a file that only this server can open. Taking one
        in twice does no harm.
      </p>
      <div class="field">
        <label for="desk-carried-file">File of a phone</label>
        <input
          id="desk-carried-file"
          type="file"
          accept=".txt,text/plain"
          onChange={(event) => {
            setFile(event.currentTarget.files?.[0] ?? null);
            setAnswer(null);
          }}
        />
      </div>
      <Refusal answer={answer} />
      {answer?.state === "refused" && <p>Nothing of the file was taken.</p>}
      {answer?.state === "ready" && <Taken taken={answer.value} name={file?.name ?? ""} />}
      <Button type="submit" disabled={busy || !file}>
        {busy ? "Taking it in …" : "Take it in"}
      </Button>
    </form>
  );
}

function Taken({ taken, name }: { taken: Carried; name: string }) {
  const { label, stored, repeats, refused, receipts } = taken;
  return (
    <div class="stack-tight">
      <p role="status">
        {label}: {stored} {stored === 1 ? "line" : "lines"} stored, {repeats} here before, {refused} refused.
        The phone goes on holding its lines as unsent until it has opened the answer, or has reached this
        server itself.
      </p>
      <Button icon="save" onClick={() => save(receipts, `${name.replace(/\.txt$/, "")}-answer.txt`)}>
        Save the answer file
      </Button>
    </div>
  );
}

function save(text: string, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "text/plain" }));
  link.download = name;
  link.click();
  // the browser needs the address until the file is written
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
