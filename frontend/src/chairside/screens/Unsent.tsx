import { Button, Notice } from "../../ui";
import { app } from "../app";
import { HandOver } from "../carry/HandOver";
import { exportUnsent } from "../exporting";
import { PageFrame } from "../frame/CaseFrame";
import { Sending } from "../home/Sending";
import { TYPE_WORD } from "../tell/types";
import { clock } from "../words";

/** Everything about what is only on this phone, and what the server would not take. */
export function Unsent() {
  const sync = app.log.sync.value;
  return (
    <PageFrame title="Saved where">
      <Sending here />
      <section class="stack" aria-labelledby="refused">
        <h2 id="refused">Lines that need attention</h2>
        {sync.refused.length === 0 && <p class="quiet">None. The server has refused nothing.</p>}
        {sync.refused.length > 0 && (
          <Notice kind="warn">
            <p>
              The server would not take these, and says why. They stay on this phone and are in the saved
              file. Show them to the clinic lead; everything else goes on.
            </p>
          </Notice>
        )}
        <ul class="list">
          {sync.refused.map((r) => (
            <li key={r.id} class="stack-tight">
              <span class="strong">{TYPE_WORD[r.type] ?? r.type}</span>
              <span>{r.reason}</span>
              <span class="quiet t-small">
                {clock(r.at)} · line {r.seq} · {r.code}
                {r.case ? ` · case ${app.log.caseOf(r.case)?.code ?? r.case.slice(0, 8)}` : ""}
              </span>
            </li>
          ))}
        </ul>
      </section>
      {sync.unreadable > 0 && (
        <Notice title="Some lines of other phones are newer than this app">
          <p>
            {sync.unreadable} could not be placed here. They are safe on the server. Update the app between
            cases.
          </p>
        </Notice>
      )}
      <HandOver />
      <section class="stack" aria-labelledby="file">
        <h2 id="file">As a plain file</h2>
        <p>
          For the clinic lead, where all else fails: every line that only this phone has, byte for byte, and
          anyone can read it. Nothing is removed from the phone by saving it.
        </p>
        <Button wide icon="save" onClick={() => void exportUnsent()}>
          Save unsent lines as a file
        </Button>
      </section>
    </PageFrame>
  );
}
