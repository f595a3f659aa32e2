import { useEffect, useState } from "preact/hooks";
import { tidyCode } from "../../log";
import type { Fault } from "../../types.gen";
import { Button, Fold, Mark, TextField } from "../../ui";
import { app } from "../app";
import { CodeField, isWhole } from "../enrolling/CodeField";
import { Refused } from "../enrolling/Refused";
import { go, route } from "../router";

/** First use: a one-time code from the clinic lead, typed or carried by the QR code's address. */
export function Enrol() {
  const here = route.value;
  const [code, setCode] = useState("");
  const [label, setLabel] = useState("");
  const [busy, setBusy] = useState(false);
  const [fault, setFault] = useState<Fault | null>(null);
  const carried = here.page === "enrol" ? here.code : null;
  useEffect(() => {
    // a second code scanned while this screen stands changes the address and loads nothing anew
    if (carried !== null) setCode(tidyCode(carried));
  }, [carried]);
  const ready = isWhole(code) && label.trim() !== "";

  const enrol = async (event: Event) => {
    event.preventDefault();
    if (!ready || busy) return;
    setBusy(true);
    setFault(null);
    const result = await app.log.enrol(code, label.trim());
    setBusy(false);
    if (!result.ok) return setFault(result.fault);
    // the code is used up and must not stay in the address
    go({ page: "home" }, { replace: true });
    app.log.syncNow();
  };

  return (
    <main class="case-main stack" id="main" tabIndex={-1}>
      <p class="row">
        <Mark /> <span class="strong">Chinrest</span>
      </p>
      <h1>Enrol this phone</h1>
      <p>
        Your clinic lead makes a code for each phone. It holds for 15 minutes and for one phone. This one step
        needs the network.
      </p>
      <form class="stack" onSubmit={(event) => void enrol(event)}>
        <CodeField code={code} onCode={setCode} />
        <TextField
          label="What this phone is called"
          hint="So that others know which it is, such as “Room 2, red case”. Not a person's name."
          value={label}
          onText={setLabel}
          maxLength={60}
          enterKeyHint="go"
        />
        {fault && <Refused fault={fault} title="Not enrolled" />}
        <Button type="submit" kind="main" big wide disabled={!ready || busy}>
          {busy ? "Asking the server…" : "Enrol this phone"}
        </Button>
      </form>
      <Fold word="Put it on the home screen first">
        <p>
          An installed app keeps a store of its own. Install it from the browser's menu before you enrol, then
          open it from the home screen: a phone enrolled in the browser would have to be enrolled again.
        </p>
      </Fold>
      <p class="t-small quiet">
        Not a medical device. For people who are trained for this work. Local rules come first, then the
        handbook of the instrument.
      </p>
    </main>
  );
}
