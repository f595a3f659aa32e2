import { Icon, Tag } from "../../ui";
import { app } from "../app";
import { useNow } from "../now";
import { lastSaved, saving } from "../record";
import { clock } from "../words";

/** What is saved, and where: never just 'saved'. Read out when it changes. */
export function SavedLine({ demo }: { demo?: boolean }) {
  const sync = app.log.sync.value;
  const now = useNow(30_000);
  const last = lastSaved.value;
  const waits = sync.waiting > 0 && sync.oldestAt !== null;
  const refused = sync.refused.length;
  return (
    <div class="saved-line">
      {demo && (
        <Tag icon="practice" practice>
          Demo
        </Tag>
      )}
      <p role="status">
        {saving.value > 0 ? (
          <span>Saving…</span>
        ) : last ? (
          <span>
            <Icon name="tick" /> Saved on this phone {clock(last.at, now)}
          </span>
        ) : null}
      </p>
      <p>
        <a href="#/unsent">
          <Icon name={refused > 0 ? "warn" : waits ? "phone" : "server"} />
          <span>
            {waits ? `${sync.waiting} unsent since ${clock(sync.oldestAt ?? now, now)}` : ""}
            {waits && refused > 0 ? ", " : ""}
            {refused > 0 ? `${refused} refused` : ""}
            {!waits && refused === 0 ? "All on the server" : ""}
          </span>
        </a>
      </p>
    </div>
  );
}
