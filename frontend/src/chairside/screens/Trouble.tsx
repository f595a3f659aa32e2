/** Screens for when there is nothing to work with: what happened, what is safe, what to do. */
import { useState } from "preact/hooks";
import type { Failure, FailureKind } from "../../log";
import { Button, Fold, Mark, Notice } from "../../ui";
import { exportUnsent } from "../exporting";
import { OPENING_WORDS } from "../overlays/EmergencyBody";
import { openEmergency } from "../reaction/begin";

/** Without a secure context there is no log and no pack, but the first words of an emergency need neither. */
export function Insecure() {
  return (
    <main class="case-main stack">
      <p class="row">
        <Mark /> <span class="strong">Chinrest</span>
      </p>
      <h1>This address is not secure</h1>
      <Notice kind="danger" title="Nothing can be recorded here" loud>
        <p>
          The page was loaded over plain http ({location.host}). Browsers then give it no signing key and no
          way to work without a network.
        </p>
      </Notice>
      <h2>What to do</h2>
      <ol class="numbered">
        <li>Open the address that begins with https://. The clinic lead has it, with a QR code.</li>
        <li>
          On a clinic network the phone must first trust the clinic's own certificate; the lead has the steps.
        </li>
        <li>On the same computer, http://localhost works too.</li>
      </ol>
      <h2>In an emergency</h2>
      <ul class="opening-words">
        {OPENING_WORDS.map((w) => (
          <li key={w}>{w}</li>
        ))}
      </ul>
    </main>
  );
}

export function StartTrouble({ error }: { error: unknown }) {
  return (
    <main class="case-main stack">
      <h1>Chinrest could not start</h1>
      <Notice kind="danger" title="The store on this phone did not open" loud>
        <p>{error instanceof Error ? error.message : String(error)}</p>
        <p>Lines that were saved before are still there.</p>
      </Notice>
      <Button kind="main" wide onClick={() => location.reload()}>
        Try again
      </Button>
      <p>
        If it goes on: close other tabs of Chinrest, leave any private window, make room on the phone. Until
        then use the clinic's paper.
      </p>
      <h2>In an emergency</h2>
      <ul class="opening-words">
        {OPENING_WORDS.map((w) => (
          <li key={w}>{w}</li>
        ))}
      </ul>
    </main>
  );
}

const HEAD: Record<FailureKind, string> = {
  store_full: "The phone is full",
  write_failed: "A line could not be written",
  store_unavailable: "The store on this phone cannot be opened",
  blocked: "Another tab holds the store",
  newer_version: "Another tab runs a newer Chinrest",
  insecure: "This address is not secure",
};

const DO: Record<FailureKind, string[]> = {
  store_full: [
    "Save the unsent lines as a file.",
    "Make room on the phone: pictures, films, other apps.",
    "Then load again.",
  ],
  write_failed: [
    "Save the unsent lines as a file.",
    "Load again. If it goes on, use another phone or the clinic's paper.",
  ],
  store_unavailable: [
    "Leave any private window.",
    "Load again. If it goes on, use another phone or the clinic's paper.",
  ],
  blocked: ["Close the other tabs of Chinrest.", "Then load again."],
  newer_version: ["Close this tab, or load again to get the newer app."],
  insecure: ["Open the address that begins with https://."],
};

/** Recording has stopped. This screen stands in the way until it works again, with the lines and the way out. */
export function StorageTrouble({ failure }: { failure: Failure }) {
  const [exported, setExported] = useState<"no" | "yes" | string>("no");
  const save = () =>
    exportUnsent().then(
      () => setExported("yes"),
      (error: unknown) => setExported(error instanceof Error ? error.message : String(error)),
    );
  return (
    <div class="case-frame">
      <main class="case-main stack" id="main" tabIndex={-1}>
        <h1>{HEAD[failure.what]}</h1>
        <Notice kind="danger" title="Recording has stopped" loud>
          <p>
            {failure.what === "store_full" || failure.what === "write_failed"
              ? "The last tap was not saved. Everything before it is on this phone."
              : "Nothing more is saved until this is put right. What was saved before stays on this phone."}
          </p>
        </Notice>
        <ol class="numbered">
          {DO[failure.what].map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ol>
        <Button kind="main" wide icon="save" onClick={() => void save()}>
          Save unsent lines as a file
        </Button>
        {exported === "yes" && (
          <Notice kind="done" loud>
            <p>Handed to the phone's downloads. Keep the file until the lead has it.</p>
          </Notice>
        )}
        {exported !== "yes" && exported !== "no" && (
          <Notice kind="danger" loud>
            <p>The file could not be made: {exported}</p>
          </Notice>
        )}
        <Button wide onClick={() => location.reload()}>
          Load again
        </Button>
        <Fold word="What the browser said">
          <p>{failure.why}</p>
        </Fold>
      </main>
      <nav class="bottom-bar bottom-bar-outside" aria-label="Ways out">
        <Button kind="danger" icon="emergency" over onClick={openEmergency}>
          Emergency
        </Button>
      </nav>
    </div>
  );
}
