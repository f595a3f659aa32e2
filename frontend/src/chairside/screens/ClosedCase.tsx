import type { CaseState } from "../../log";
import type { Held } from "../../pack";
import { Button, LinkButton, Notice } from "../../ui";
import { openOver } from "../router";
import { OUTCOME_WORD } from "../tell/types";
import { clock, count } from "../words";

/** A closed case. A late reaction or a wrong line can still be added: both are new lines. */
export function ClosedCase({ state, held }: { state: CaseState; held: Held | null }) {
  const late = state.safety.filter((s) => s.body.late).length;
  const taken = state.frames.filter((f) => f.body.outcome === "taken").length;
  return (
    <div class="stack">
      <h1>Closed: {state.outcome ? OUTCOME_WORD[state.outcome].toLowerCase() : "closed"}</h1>
      <dl class="facts">
        <dt>From</dt>
        <dd>{clock(state.openedAt)}</dd>
        <dt>To</dt>
        <dd>{state.closedAt === null ? "" : clock(state.closedAt)}</dd>
        <dt>Frames</dt>
        <dd>{count(taken, "taken", "taken")}</dd>
        <dt>Events</dt>
        <dd>
          {state.safety.length === 0 ? "none logged" : count(state.safety.length, "logged", "logged")}
          {late > 0 ? `, ${late} after the case` : ""}
        </dd>
        <dt>Guidance</dt>
        <dd>{held ? held.pack.version : "not on this phone"}</dd>
      </dl>
      <Notice title="Did something come later?">
        <p>
          A rash, a swollen arm, anything the patient reports from home: record it here as late. If it is
          happening now, use Emergency below. A wrong line is put right among the case's lines.
        </p>
        <Button wide icon="event" onClick={() => openOver("event")}>
          Record a late event
        </Button>
      </Notice>
      <Button wide icon="history" onClick={() => openOver("history")}>
        Show its lines
      </Button>
      <LinkButton kind="main" big wide href="#/">
        Back to the cases
      </LinkButton>
    </div>
  );
}
