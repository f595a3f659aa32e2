import type { CaseState } from "../../log";
import { Icon, Tag } from "../../ui";
import { app } from "../app";
import { useNow } from "../now";
import { clock, eyesWord, span } from "../words";

/** One open case. `now` marks what this phone is in the middle of. */
export function CaseCard({ state, now }: { state: CaseState; now?: boolean }) {
  const time = useNow(30_000);
  const pauses = state.pauses.at(-1)?.body;
  const running = pauses?.state === "started";
  return (
    <a class={`card case-card ${now ? "card-now" : ""}`} href={`#/case/${state.id}`}>
      <span class="row-ends">
        <span class="t-do">{state.code || "Code not here yet"}</span>
        {state.practice && (
          <Tag icon="practice" practice>
            Practice
          </Tag>
        )}
      </span>
      <span>{eyesWord(state.eyes)}</span>
      <span class="quiet t-small">
        Since {clock(state.openedAt, time)} ({span(time - state.openedAt)})
        {state.handedTo ? ` · handed to ${state.handedTo}` : ""}
        {state.heldBy !== app.log.device.value?.id ? " · on another phone" : ""}
        {running ? " · paused" : ""}
      </span>
      <span class="case-card-go">
        <Icon name={now ? "forward" : "hand"} /> {now ? "Go on" : "Look, or take it over"}
      </span>
    </a>
  );
}
