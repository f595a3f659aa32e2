import { Button, Notice } from "../../ui";
import { app } from "../app";
import { saveTrouble } from "../record";

/** What must be seen on every screen, even in mid-case. */
export function Banners({ sha256 }: { sha256: string | null }) {
  const { recall, recalled } = app.shelf;
  const recallHere = sha256 === null ? recall.value : (recalled.value.get(sha256) ?? null);
  const sync = app.log.sync.value;
  return (
    <section class="banners" aria-label="To know now">
      {recallHere && (
        <Notice kind="danger" title="This guidance has been recalled" loud>
          <p>{recallHere.why}</p>
          <p>Do not follow its steps or turns without your clinic lead. The log goes on.</p>
        </Notice>
      )}
      {saveTrouble.value && (
        <Notice kind="danger" title="Not saved" loud>
          <p>{saveTrouble.value}</p>
          <Button
            onClick={() => {
              saveTrouble.value = null;
            }}
          >
            Put away
          </Button>
        </Notice>
      )}
      {sync.withdrawn && sha256 !== null && (
        <Notice kind="warn" title="This phone has been withdrawn">
          <p>Finish this case; it is recorded here. Then give the phone to the clinic lead.</p>
        </Notice>
      )}
      {sync.state === "outdated" && (
        <Notice kind="warn" title="This app is older than the server">
          <p>
            Everything is still recorded on this phone. Between cases, update the app from the home screen.
          </p>
        </Notice>
      )}
    </section>
  );
}
