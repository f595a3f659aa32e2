import { Button, Fold, Loading, Notice } from "../../ui";
import { app } from "../app";
import { shell, shellFailure, takeOver, updateReady } from "../appupdate";
import { awake } from "../wake";
import { packTrouble } from "../wiring";
import { count, span } from "../words";

const HELD_BACK = "It takes over when no case is open on this phone, never within one.";

/** How the phone stands: guidance, app, store, clock. Says only what someone should know or do. */
export function Standing({ inHand }: { inHand: number }) {
  const { current, waiting, refused } = app.shelf;
  const storage = app.log.storage.value;
  const sync = app.log.sync.value;
  const held = current.value;
  const warnMs = held?.pack.thresholds.clock_warn_ms ?? 120_000;
  const offset = sync.clockOffsetMs;
  const usedShare = storage.usage !== null && storage.quota ? storage.usage / storage.quota : 0;
  return (
    <div class="stack">
      {sync.unopened > 0 && (
        <Notice kind="warn" title={`${count(sync.unopened, "line does", "lines do")} not open`}>
          <p>
            What is stored of {sync.unopened === 1 ? "it" : "them"} on this phone is damaged. Nothing was
            removed; what was sent before is safe on the server. Tell the clinic lead.
          </p>
        </Notice>
      )}
      {!held && sync.lastHeardAt === null && (
        <Notice title="No guidance on this phone yet">
          <p>It comes with the first answer of the server. Until then no case can begin.</p>
          {sync.state === "sending" ? (
            <Loading>Asking the server…</Loading>
          ) : (
            <Button onClick={() => app.log.syncNow()}>Ask now</Button>
          )}
        </Notice>
      )}
      {!held && sync.lastHeardAt !== null && !waiting.value && (
        <Notice kind="warn" title="No guidance for this site">
          <p>
            {packTrouble.value
              ? `It could not be fetched: ${packTrouble.value}.`
              : "The clinic lead has not approved any for this site, or it is still on its way."}
          </p>
          <Button onClick={() => app.log.syncNow()}>Ask again</Button>
        </Notice>
      )}
      {waiting.value && inHand > 0 && (
        <Notice title={`Guidance ${waiting.value.pack.version} waits`}>
          <p>It is proved and kept on this phone. {HELD_BACK}</p>
        </Notice>
      )}
      {refused.value.map((r) => (
        <Notice key={r.sha256} kind="danger" title="New guidance was refused">
          <p>
            It did not pass its own checks on this phone, so the earlier guidance stays in use. Tell the
            clinic lead.
          </p>
          <Fold word={count(r.faults.length, "reason", "reasons")}>
            <ul class="bullets t-small">
              {r.faults.map((f) => (
                <li key={f}>{f}</li>
              ))}
            </ul>
            <p class="t-small quiet">Guidance {r.sha256.slice(0, 12)}</p>
          </Fold>
        </Notice>
      ))}
      {updateReady.value && (
        <Notice title="A newer app is ready">
          {inHand > 0 ? (
            <p>{HELD_BACK}</p>
          ) : (
            <Button kind="main" onClick={() => takeOver()}>
              Update the app now
            </Button>
          )}
        </Notice>
      )}
      {shell.value === "installing" && <Loading>Getting ready to start without a network…</Loading>}
      {(shell.value === "failed" || shell.value === "absent") && (
        <Notice kind="warn" title="The app itself is not kept on this phone">
          <p>
            Without a network it would not start again
            {shellFailure.value ? `: ${shellFailure.value}` : "."} What is logged is kept all the same.
          </p>
        </Notice>
      )}
      {(storage.answer === "refused" || storage.answer === "absent" || storage.answer === "no_answer") && (
        <Notice kind="warn" title="The browser may clear this phone's store">
          <p>
            {storage.answer === "refused"
              ? "It was asked to keep the store and said no."
              : storage.answer === "absent"
                ? "It has no way to promise that the store is kept."
                : "It was asked to keep the store and did not answer."}{" "}
            Put the app on the home screen and send often.
          </p>
        </Notice>
      )}
      {awake.value === "absent" && (
        <Notice title="The screen may go dark in a case">
          <p>
            This browser cannot keep it awake. Set the phone's own lock time longer. Nothing that was logged
            is lost by it.
          </p>
        </Notice>
      )}
      {usedShare > 0.8 && (
        <Notice kind="warn" title="The phone is nearly full">
          <p>
            Chinrest uses {Math.round(usedShare * 100)} % of what the browser gives it. Send, and make room on
            the phone.
          </p>
        </Notice>
      )}
      {offset !== null && Math.abs(offset) > warnMs && (
        <Notice kind="warn" title="The phone's clock is off">
          <p>
            It is {span(Math.abs(offset))} {offset > 0 ? "ahead of" : "behind"} the server's. Recording goes
            on; set the phone's clock when you can.
          </p>
        </Notice>
      )}
    </div>
  );
}
