import { useState } from "preact/hooks";
import type { CaseState, Entry } from "../../log";
import type { Held } from "../../pack";
import { Button, Icon, Segmented, Sheet, Tag } from "../../ui";
import { AmendSheet } from "../amend/AmendSheet";
import { FlagsSheet } from "../amend/FlagsSheet";
import { app } from "../app";
import { useDraft } from "../drafts";
import { openOver } from "../router";
import { tellEntry } from "../tell/entry";
import { clock, count } from "../words";

const PLACE = {
  phone: { icon: "phone", word: "on this phone" },
  hub: { icon: "server", word: "on the hub" },
  server: { icon: "server", word: "on the server" },
  refused: { icon: "warn", word: "refused by the server" },
} as const;

/** The case as a line of time, newest first; each line can be amended. Closing and handing over start here too. */
export function History({
  state,
  held,
  onClose,
}: {
  state: CaseState;
  held: Held | null;
  onClose: () => void;
}) {
  // which line is being put right is kept with what was entered for it, so that a reload gives both back
  const [kept, keep, drop] = useDraft<{ line: string | null }>(`history/${state.id}`, { line: null });
  const amending = state.entries.find((e) => e.line === kept.line) ?? null;
  const [flags, setFlags] = useState(false);
  const [shown, setShown] = useState<"few" | "all">("few");
  const lines = [...state.entries].reverse().filter((e) => shown === "all" || !QUIET.has(e.type));
  const open = state.state === "open";
  const put = () => {
    keep({ line: null });
    drop();
  };
  return (
    <Sheet title={`Case ${state.code}`} back="Back" onClose={onClose}>
      <div class="stack">
        {open && (
          <div class="stack-tight">
            <Button wide icon="tick" onClick={() => openOver("finish")}>
              Close or hand over
            </Button>
            <Button wide onClick={() => setFlags(true)} disabled={!held}>
              Change what to know about the patient
            </Button>
          </div>
        )}
        <Segmented<"few" | "all">
          legend="Lines"
          options={[
            { id: "few", text: "What was done" },
            { id: "all", text: "Every line" },
          ]}
          value={shown}
          onPick={setShown}
        />
        <p class="quiet t-small">
          {count(state.entries.length, "line", "lines")}. A wrong line is put right by a new one; both stay in
          the log.
        </p>
        <ol class="list">
          {lines.map((entry) => (
            <Line
              key={entry.line}
              entry={entry}
              state={state}
              held={held}
              onAmend={() => keep({ line: entry.line })}
            />
          ))}
        </ol>
      </div>
      {amending && <AmendSheet state={state} held={held} entry={amending} onClose={put} />}
      {flags && held && <FlagsSheet state={state} held={held} onClose={() => setFlags(false)} />}
    </Sheet>
  );
}

/** Lines that the photographer did not make by a decision of their own. */
const QUIET = new Set(["pose.advised", "case.taken"]);

function Line({
  entry,
  state,
  held,
  onAmend,
}: {
  entry: Entry;
  state: CaseState;
  held: Held | null;
  onAmend: () => void;
}) {
  const told = tellEntry(entry, held?.pack ?? null, state);
  const before =
    entry.amendedBy && entry.written
      ? tellEntry({ ...entry, body: entry.written, withdrawn: false }, held?.pack ?? null, state)
      : null;
  const place = PLACE[app.log.placeOf(entry.device, entry.seq)];
  const mine = entry.device === app.log.device.value?.id;
  return (
    <li class={`line ${entry.withdrawn ? "line-withdrawn" : ""}`}>
      <div class="line-said">
        <p>
          <span class="strong">{told.title}</span>{" "}
          {entry.withdrawn ? (
            <Tag icon="cross">did not happen</Tag>
          ) : (
            entry.amendedBy && <Tag icon="tick">corrected</Tag>
          )}
        </p>
        {told.detail && !entry.withdrawn && <p>{told.detail}</p>}
        {before && (
          <p class="quiet t-small">
            First written: <s>{[before.title, before.detail].filter(Boolean).join(": ")}</s>
          </p>
        )}
        <p class="quiet t-small line-where">
          {clock(entry.at)}
          {entry.actor ? ` · ${entry.actor}` : ""}
          {mine ? "" : " · another phone"} · <Icon name={place.icon} /> {place.word}
        </p>
      </div>
      {entry.known && entry.type !== "line.amended" && (
        <Button kind="quiet" onClick={onAmend} aria-label={`Amend: ${told.title}, ${clock(entry.at)}`}>
          Amend
        </Button>
      )}
    </li>
  );
}
