import { Button, Notice } from "../../ui";
import { app, isLocked } from "../app";
import { exportUnsent } from "../exporting";
import { count } from "../words";

/** The server no longer takes lines from this phone. The log stays, and there is something to do. */
export function Withdrawn() {
  const waiting = app.log.sync.value.waiting;
  return (
    <Notice kind="danger" title="This phone has been withdrawn" loud>
      <p>
        The clinic lead has taken it out of use. Its log is untouched
        {waiting > 0 ? `, and ${count(waiting, "line is", "lines are")} only here.` : "."}
      </p>
      <ol class="numbered">
        <li>Finish or hand over the case that is open. It is still recorded on this phone.</li>
        <li>Save the unsent lines as a file and give it to the lead.</li>
        <li>Take another phone for the next patient.</li>
      </ol>
      {isLocked() ? (
        <p>Unlock it to save them.</p>
      ) : (
        <Button icon="save" onClick={() => void exportUnsent()}>
          Save unsent lines as a file
        </Button>
      )}
    </Notice>
  );
}
