import { useState } from "preact/hooks";
import { APP_VERSION } from "../../log";
import { type Look, look, Segmented, setLook, TextField } from "../../ui";
import { actor, app, hasPins, setActor } from "../app";
import { PageFrame } from "../frame/CaseFrame";
import { later } from "../later";
import { CueSettings } from "../series/CueSettings";
import { awake } from "../wake";
import { clock } from "../words";

const Pins = later(() => import("../locking").then((m) => m.Pins));

const AWAKE = {
  held: "kept awake now",
  off: "kept awake during a case",
  refused: "the browser did not allow it",
  absent: "this browser cannot keep it awake: set the phone's own lock time longer",
};

const STORE = {
  granted: "the browser keeps it",
  refused: "the browser said no",
  absent: "this browser cannot promise it",
  no_answer: "the browser did not answer",
};

export function Settings() {
  const { theme, text, hand } = look.value;
  const [who, setWho] = useState(actor.value ?? "");
  const device = app.log.device.value;
  const storage = app.log.storage.value;
  const held = app.shelf.current.value;
  return (
    <PageFrame title="Settings">
      {!hasPins() && (
        <TextField
          label="Who works on this phone"
          hint="Your initials or staff id. It stands beside what you log, as you claim it."
          value={who}
          onText={(typed) => {
            setWho(typed);
            setActor(typed);
          }}
          maxLength={40}
        />
      )}
      <Segmented<Look["theme"]>
        legend="Light"
        options={[
          { id: "dark", text: "Dark room" },
          { id: "day", text: "Day" },
          { id: "system", text: "As the phone" },
        ]}
        value={theme}
        onPick={(id) => setLook({ theme: id })}
      />
      <Segmented<Look["text"]>
        legend="Text size"
        hint="On top of the browser's own."
        options={[
          { id: "normal", text: "100 %" },
          { id: "large", text: "125 %" },
          { id: "larger", text: "150 %" },
          { id: "largest", text: "200 %" },
        ]}
        value={text}
        onPick={(id) => setLook({ text: id })}
      />
      <Segmented<Look["hand"]>
        legend="Hand that holds the phone"
        hint="The bottom bar is laid out for its thumb."
        options={[
          { id: "left", text: "Left" },
          { id: "right", text: "Right" },
        ]}
        value={hand}
        onPick={(id) => setLook({ hand: id })}
      />
      <CueSettings />
      <Pins />
      <section class="stack-tight" aria-labelledby="about">
        <h2 id="about">This phone</h2>
        <dl class="facts">
          <dt>Called</dt>
          <dd>{device?.label}</dd>
          <dt>Site</dt>
          <dd>{device?.siteName}</dd>
          <dt>Enrolled</dt>
          <dd>{device ? clock(device.enrolledAt) : ""}</dd>
          <dt>Guidance</dt>
          <dd>{held ? `${held.pack.version} (${held.sha256.slice(0, 12)})` : "none yet"}</dd>
          <dt>App</dt>
          <dd>{APP_VERSION}</dd>
          <dt>Store</dt>
          <dd>
            {storage.answer === null ? "not asked yet" : STORE[storage.answer]}
            {storage.usage !== null ? `, ${(storage.usage / 1e6).toFixed(1)} MB used` : ""}
          </dd>
          <dt>Sending</dt>
          <dd>only while the app is open: open it where there is a network</dd>
          <dt>Screen</dt>
          <dd>{AWAKE[awake.value]}</dd>
        </dl>
      </section>
    </PageFrame>
  );
}
