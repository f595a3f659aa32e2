import type { CaseState } from "../../log";
import { Button, Notice } from "../../ui";
import { useNow } from "../now";
import { record } from "../record";
import { clock, span } from "../words";

/** A pause that runs is said on every screen of the case, with the way to end it. */
export function PauseStrip({ state }: { state: CaseState }) {
  const now = useNow(10_000);
  const last = state.pauses.at(-1);
  if (state.state !== "open" || last?.body.state !== "started") return null;
  return (
    <section class="banners" aria-label="Pause">
      <Notice kind="warn" title={`Pause for ${span(now - last.at)}`}>
        <p>
          Since {clock(last.at, now)}
          {last.body.why ? `: ${last.body.why}` : ""}
        </p>
        <Button onClick={() => void record("pause.noted", { state: "ended", why: "" }, { case: state.id })}>
          End the pause
        </Button>
      </Notice>
    </section>
  );
}
