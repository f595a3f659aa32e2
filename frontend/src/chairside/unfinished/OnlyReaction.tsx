import type { CaseState } from "../../log";
import { Button, LinkButton, Notice } from "../../ui";
import { hrefOf, openOver } from "../router";
import { clock } from "../words";

/** An emergency that was opened with no case: its lines, whose it was, and the way on. */
export function OnlyReaction({ state }: { state: CaseState }) {
  const said = state.attached.at(-1)?.body;
  return (
    <div class="stack">
      <h1>An emergency with no case</h1>
      <p>Opened {clock(state.openedAt)}. Its lines are logged by themselves.</p>
      {said ? (
        <Notice
          kind="done"
          title={said.to === null ? "It belongs to no case" : `It belongs to case ${said.code}`}
        >
          {said.note && <p>{said.note}</p>}
          {said.to !== null && <LinkButton href={hrefOf(said.to, "step")}>Go to the case</LinkButton>}
        </Notice>
      ) : (
        <Button kind="main" big wide onClick={() => openOver("unfinished")}>
          Say whose it was
        </Button>
      )}
      <Button wide icon="history" onClick={() => openOver("history")}>
        Show its lines
      </Button>
      <LinkButton href="#/">Back to the cases</LinkButton>
    </div>
  );
}
