/** The dark field with its dot. Around it only what whoever holds the phone must see: where to hold it, the ways out. */
import { useEffect, useRef } from "preact/hooks";
import type { CaseState } from "../../log";
import { Button, Icon } from "../../ui";
import { app } from "../app";
import { BottomBar } from "../frame/BottomBar";
import { useNow } from "../now";
import { timed } from "../series/watch";
import { clockText } from "../tell/series";
import { useWakeLock } from "../wake";
import { clock } from "../words";
import type { Aim } from "./current";
import { blinkSeconds, type Dot } from "./dot";
import { dotInUse } from "./kept";
import { type Place, placeLines } from "./place";

/** How often a helper's phone asks for the case's newest lines while the light is shown. */
const ASK_EVERY_MS = 4_000;
/** Longer without an answer, and whoever holds the phone should ask. */
const OLD_MS = 30_000;

export function LightField({
  state,
  aim,
  place,
  steady,
  onBack,
}: {
  state: CaseState | null;
  aim: Aim | null;
  place: Place | null;
  /** It never blinks, whatever is set. */
  steady: boolean;
  onBack: () => void;
}) {
  useWakeLock(true);
  const dot = dotInUse().value as Dot;
  const blink_s = blinkSeconds(dot.rate, steady);
  const refused = place?.kind === "refused";
  const words = placeText(aim, place);
  useMoved(words);
  return (
    <div class="light-field">
      <header class="light-edge">
        <h1 class="only-heard">Outside light</h1>
        <div role="status" class="light-place">
          {words.map((line) => (
            <p key={line}>{line}</p>
          ))}
        </div>
        {state !== null && <DyeClocks id={state.id} />}
        {state !== null && <Heard state={state} />}
      </header>
      <main class="light-dark" id="main" tabIndex={-1} aria-label="The light">
        {!refused && (
          <div
            class={`light-dot light-${dot.colour} light-${dot.size} ${blink_s === null ? "" : "light-blink"}`}
            style={blink_s === null ? {} : { animationDuration: `${blink_s}s` }}
            role="img"
            aria-label={blink_s === null ? "A steady dot of light" : "A blinking dot of light"}
          />
        )}
      </main>
      <BottomBar
        outside
        act={
          <Button icon="back" onClick={onBack}>
            Set up
          </Button>
        }
      />
    </div>
  );
}

function placeText(aim: Aim | null, place: Place | null): string[] {
  if (place?.kind === "refused") return [`No light for this gaze. ${place.why}`];
  if (aim === null || place?.kind !== "at") return ["Hold it where the photographer says."];
  const lines = placeLines(place);
  return [`Hold the dot ${lines.join(", ")}`, `from the ${aim.eye === "right" ? "left" : "right"} eye`];
}

/** A new place is felt in the hand: whoever holds the phone looks at the patient. */
function useMoved(words: string[]): void {
  const text = words.join(" ");
  const before = useRef(text);
  useEffect(() => {
    if (before.current === text) return;
    before.current = text;
    navigator.vibrate?.(200); // not everywhere; the words change all the same
  }, [text]);
}

/** The clocks of the dyes, kept in sight while this phone is in another hand. */
function DyeClocks({ id }: { id: string }) {
  const clocks = timed.value.find((t) => t.state.id === id)?.clocks ?? [];
  return clocks.map((clock) => (
    <p key={clock.dye} class="light-clock" role="timer" aria-label={clock.name}>
      <span class="number t-do">{clock.seconds === null ? "clock uncertain" : clockText(clock.seconds)}</span>{" "}
      {clock.name}
    </p>
  ));
}

/** On a helper's phone: how fresh what it follows is. On the one that has the case it is always now. */
function Heard({ state }: { state: CaseState }) {
  const now = useNow(1_000);
  const helper = state.heldBy !== app.log.device.value?.id;
  useEffect(() => {
    if (!helper) return;
    app.log.syncNow();
    const timer = setInterval(() => app.log.syncNow(), ASK_EVERY_MS);
    return () => clearInterval(timer);
  }, [helper]);
  if (!helper) return null;
  const at = app.log.sync.value.lastHeardAt;
  if (at !== null && now - at < OLD_MS) return <p class="t-small quiet">Follows {state.code}.</p>;
  return (
    <p class="t-small light-old">
      <Icon name="warn" /> Nothing heard of {state.code}
      {at === null ? "" : ` since ${clock(at, now)}`}: ask whether the gaze has changed.
    </p>
  );
}
