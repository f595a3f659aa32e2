/** What tells that a frame comes: each can be switched off, all of them too. */
import { Button, Notice, Segmented } from "../../ui";
import { type Cues, can, cues, give, readySound, setCues, soundReady } from "./cues";

const KINDS: { id: keyof Cues; legend: string; absent: string }[] = [
  { id: "sound", legend: "Sound before a frame", absent: "This browser makes no sound of its own." },
  { id: "vibration", legend: "Vibration before a frame", absent: "This browser or phone cannot vibrate." },
  { id: "speech", legend: "Spoken countdown", absent: "This browser does not speak." },
];

export function CueSettings() {
  const set = cues.value;
  const none = !set.sound && !set.vibration && !set.speech;
  return (
    <section class="stack" aria-labelledby="cue-settings">
      <h2 id="cue-settings">Before each frame of a series</h2>
      {KINDS.map(({ id, legend, absent }) =>
        can[id] ? (
          <Segmented<"on" | "off">
            key={id}
            legend={legend}
            options={[
              { id: "on", text: "On" },
              { id: "off", text: "Off" },
            ]}
            value={set[id] ? "on" : "off"}
            onPick={(picked) => setCues({ [id]: picked === "on" })}
          />
        ) : (
          <p key={id} class="quiet">
            {absent}
          </p>
        ),
      )}
      {none ? (
        <Notice kind="warn" title="Nothing will call you">
          <p>Only the screen shows when a frame comes.</p>
        </Notice>
      ) : (
        <Button
          wide
          onClick={() => {
            readySound();
            give("now", "Next frame, now");
          }}
        >
          Try it
        </Button>
      )}
      {set.sound && can.sound && !soundReady.value && (
        <p class="quiet t-small">The browser allows sound after the first touch on the screen.</p>
      )}
    </section>
  );
}
