/** Why the dye is closed, each with the way to where it can be settled. */
import type { CaseState } from "../../log";
import { LinkButton, Notice } from "../../ui";
import { hrefOf } from "../router";
import type { Closed } from "../screening/course";

export function ClosedList({ state, title, closed }: { state: CaseState; title: string; closed: Closed[] }) {
  return (
    <Notice kind="danger" title={title}>
      <ul class="list">
        {closed.map((c) => (
          <li key={`${c.text}${c.step}`} class="stack-tight">
            <span>{c.text}</span>
            <LinkButton
              href={c.step !== null ? hrefOf(state.id, "step", c.step) : hrefOf(state.id, c.screen ?? "step")}
            >
              Go to it
            </LinkButton>
          </li>
        ))}
      </ul>
    </Notice>
  );
}
