import { useState } from "preact/hooks";
import type { Fault } from "../../types.gen";
import { Button } from "../../ui";
import { app } from "../app";
import { CodeField, isWhole } from "../enrolling/CodeField";
import { Refused } from "../enrolling/Refused";
import { comeIn } from "./begin";
import { isSame, NewPin, type Typed, UNTYPED } from "./NewPin";

/** No PIN is known any more: by a code for this phone, the server gives its key back, and a new PIN is set. */
export function Recover({ people }: { people: readonly string[] }) {
  const [code, setCode] = useState("");
  const [typed, setTyped] = useState<Typed>({
    ...UNTYPED,
    name: people.length === 1 ? (people[0] ?? "") : "",
  });
  const [busy, setBusy] = useState(false);
  const [fault, setFault] = useState<Fault | null>(null);
  const ready = isWhole(code) && typed.name.trim() !== "" && isSame(typed);

  const recover = async (event: Event) => {
    event.preventDefault();
    if (!ready || busy) return;
    setBusy(true);
    setFault(null);
    const lock = await app.log.lock();
    const said = await lock.recover(code, typed.name, typed.pin);
    setBusy(false);
    if (said.ok) return comeIn(lock);
    setFault(said.fault);
  };

  return (
    <form class="stack" onSubmit={(event) => void recover(event)}>
      <h2>Open it by a code</h2>
      <p>
        The clinic lead makes a code for this phone, as for a new one. It needs the network once. Nothing that
        was logged is lost; that the phone was opened so is written down on the server.
      </p>
      <CodeField code={code} onCode={setCode} />
      <NewPin typed={typed} onType={setTyped} />
      {fault && <Refused fault={fault} title="Not opened" />}
      <Button type="submit" kind="main" big wide disabled={!ready || busy}>
        {busy ? "Asking the server…" : "Open and set this PIN"}
      </Button>
    </form>
  );
}
