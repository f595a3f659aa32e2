import { useEffect } from "preact/hooks";
import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { Button, Sheet } from "../../ui";
import { app } from "../app";
import { record } from "../record";
import { closeOver, openOver } from "../router";
import { EmergencyBody } from "./EmergencyBody";

const WHY = "emergency page opened";

/**
 * The way out: one tap from every screen. The page is drawn first and from what is in memory; that it was opened is
 * noted behind it, as a pause of the case, and nothing here waits for the disk.
 */
export function Emergency({ state, held }: { state: CaseState | null; held: Held | null }) {
  const id = state?.state === "open" ? state.id : null;
  const site = app.log.device.value?.site ?? null;
  useEffect(() => {
    if (!id || app.log.failure.value) return;
    const last = app.log.caseOf(id)?.pauses.at(-1)?.body;
    if (last?.state !== "started") void record("pause.noted", { state: "started", why: WHY }, { case: id });
  }, [id]);

  return (
    <Sheet danger title="Emergency" onClose={closeOver}>
      <EmergencyBody
        page={held?.pack.emergency ?? null}
        site={site}
        after={
          state &&
          !app.log.failure.value && (
            <Button wide icon="event" onClick={() => openOver("event")}>
              Record what happened
            </Button>
          )
        }
      />
    </Sheet>
  );
}
