import type { CaseState } from "../../log";
import { Button, Notice } from "../../ui";
import { app } from "../app";
import { useNow } from "../now";
import { record, saving } from "../record";
import { openOver } from "../router";
import { clock, count, span } from "../words";

/** A case that another phone holds, or that was handed over: look at it, and go on with it here if that is meant. */
export function TakeOver({ state }: { state: CaseState }) {
  const now = useNow(10_000);
  const mine = state.heldBy === app.log.device.value?.id;
  const take = () => record("case.taken", { seen: state.entries.length }, { case: state.id });
  return (
    <div class="stack">
      <h1>{state.handedTo ? `Handed over to ${state.handedTo}` : "Another phone has this case"}</h1>
      <p>
        {count(state.entries.length, "line is", "lines are")} here; the last was written{" "}
        {span(now - state.lastAt)} ago, at {clock(state.lastAt, now)}.
      </p>
      {!mine && (
        <Notice kind="warn" title="The other phone may hold more">
          <p>
            What it has not yet sent is not here. Ask whoever holds it, and check eye, optic and dye with the
            patient before you go on.
          </p>
        </Notice>
      )}
      <Button kind="main" big wide icon="hand" disabled={saving.value > 0} onClick={() => void take()}>
        Go on with it on this phone
      </Button>
      <Button wide icon="history" onClick={() => openOver("history")}>
        Only look at it
      </Button>
    </div>
  );
}
