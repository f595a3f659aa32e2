/** What the emergency page opens with, drawn once where nobody sees it: what a first drawing has to compile, style and
 * set in type is then behind the phone when the way out is pressed. */
import { effect } from "@preact/signals";
import { render } from "preact";
import type { Held } from "../../pack";
import { app } from "../app";
import { OpeningWords } from "../overlays/EmergencyBody";
import { route } from "../router";
import { Since } from "../Since";
import { Help } from "./Help";
import { tablesOf } from "./tables";

const IDLE_AT_LATEST_MS = 1000;
const AT_FIRST = { seconds: 0, wall_s: 0, mono_s: 0 };

/** From now on the words of the guidance that is in use are drawn ahead: soon, and again when another takes over. */
export function keepDrawnAhead(): void {
  effect(() => {
    const held = app.shelf.current.value;
    whenIdle(() => drawAhead(held));
  });
}

function whenIdle(work: () => void): void {
  // not in every browser
  if (typeof requestIdleCallback === "function") requestIdleCallback(work, { timeout: IDLE_AT_LATEST_MS });
  else setTimeout(work, IDLE_AT_LATEST_MS);
}

/** In one go, so that no frame and no reader meets it. It takes no reading of the clocks, and writes nothing. */
function drawAhead(held: Held | null): void {
  if (route.peek().over === "emergency") return;
  const host = document.createElement("div");
  host.className = "drawn-ahead";
  host.inert = true;
  const page = held?.pack.emergency ?? null;
  try {
    render(
      <div class="sheet sheet-danger">
        <div class="sheet-body">
          <div class="stack">
            <OpeningWords page={page} />
            <section class="emergency-clocks">
              <p>
                <Since clock={AT_FIRST} as="emergency-clock number" />{" "}
                <span class="t-small">since opened</span>
              </p>
            </section>
            <Help page={page} tables={tablesOf(held?.pack ?? null)} />
          </div>
        </div>
      </div>,
      host,
    );
    document.body.append(host);
    host.getBoundingClientRect(); // styles it and lays it out
  } finally {
    host.remove();
    render(null, host);
  }
}
