import type { SyncView } from "../../log";
import { Button, LinkButton, Notice } from "../../ui";
import { app, isLocked } from "../app";
import { useNow } from "../now";
import { clock, count, span } from "../words";

const DOING: Record<SyncView["state"], string> = {
  off: "This phone is not enrolled.",
  idle: "",
  sending: "Sending now…",
  waiting: "No answer from the server. This phone tries again by itself.",
  stuck: "The server answers, but not as expected. This phone tries again by itself.",
  withdrawn: "This phone has been withdrawn. The server takes nothing from it.",
  unknown: "The server does not know this phone.",
  outdated: "The server is newer than this app and wants an update first. Recording goes on.",
};

/** What waits, since when, when the server was last heard, and a way to try now. Nothing waits silently.
 * `here`: on the screen that shows the lines themselves. */
export function Sending({ here }: { here?: boolean }) {
  const now = useNow(10_000);
  const sync = app.log.sync.value;
  return (
    <section class="card" aria-labelledby="sending">
      <h2 id="sending">Saved where</h2>
      {sync.waiting > 0 && sync.oldestAt !== null ? (
        <p>
          <span class="strong">{count(sync.waiting, "line is", "lines are")} only on this phone</span>, the
          oldest for {span(now - sync.oldestAt)} (since {clock(sync.oldestAt, now)}).
        </p>
      ) : sync.refused.length > 0 ? (
        <p>Nothing else waits: all but the refused lines is on the server.</p>
      ) : (
        <p>Everything of this phone is on the server.</p>
      )}
      <p class="quiet t-small">
        {sync.lastHeardAt === null
          ? "The server has not been heard yet."
          : `Server last heard ${clock(sync.lastHeardAt, now)}.`}{" "}
        {sync.state === "idle" && sync.waiting > 0 ? "They are sent in a moment." : DOING[sync.state]}
        {sync.state === "unknown" && isLocked() ? " Unlocking it may be enough." : ""}
        {sync.state !== "idle" && sync.nextAt !== null && sync.nextAt > now
          ? ` Next try in ${span(sync.nextAt - now)}.`
          : ""}
      </p>
      {sync.fault && sync.state !== "idle" && (
        <p class="quiet t-small">
          Last try: {sync.fault.why} ({sync.fault.code})
        </p>
      )}
      {sync.offeredAgain > 0 && (
        <p class="t-small">
          The server was restored from a copy: {count(sync.offeredAgain, "line is", "lines are")} offered
          again.
        </p>
      )}
      {!here && sync.refused.length > 0 && (
        <Notice kind="warn" title={`${count(sync.refused.length, "line needs", "lines need")} attention`}>
          <p>The server would not take them. They stay on this phone.</p>
          <LinkButton href="#/unsent">Show them</LinkButton>
        </Notice>
      )}
      <div class="row">
        <Button
          icon="send"
          disabled={sync.state === "sending" || sync.state === "off"}
          onClick={() => app.log.syncNow()}
        >
          {sync.state === "sending" ? "Sending…" : "Send now"}
        </Button>
        {!here && sync.refused.length === 0 && sync.waiting > 0 && (
          <LinkButton href="#/unsent" kind="quiet">
            Details
          </LinkButton>
        )}
      </div>
    </section>
  );
}
