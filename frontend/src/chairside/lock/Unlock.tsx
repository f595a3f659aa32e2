import { useEffect, useState } from "preact/hooks";
import type { Unlocking } from "../../log";
import { Button, Notice, PickOne } from "../../ui";
import { app } from "../app";
import { useNow } from "../now";
import { count, span } from "../words";
import { comeIn } from "./begin";
import { PinField } from "./PinField";

type Refused = Exclude<Unlocking, { ok: true }>;

/** Who, and their PIN. `onServer`: it opens nothing any more. */
export function Unlock({ people, onServer }: { people: readonly string[]; onServer: () => void }) {
  const [name, setName] = useState<string | null>(people.length === 1 ? (people[0] ?? null) : null);
  const [pin, setPin] = useState("");
  const [busy, setBusy] = useState(false);
  const [refused, setRefused] = useState<Refused | null>(null);
  const [until, setUntil] = useState(0);
  const left = until - useNow(500);

  useEffect(() => {
    setRefused(null);
    setUntil(0);
  }, [name]);

  const unlock = async (event: Event) => {
    event.preventDefault();
    if (name === null || pin === "" || busy) return;
    setBusy(true);
    setRefused(null);
    const lock = await app.log.lock();
    const said = await lock.unlock(name, pin);
    setPin("");
    setBusy(false);
    if (said.ok) return comeIn(lock);
    setRefused(said);
    setUntil("ms" in said && said.ms > 0 ? Date.now() + said.ms : 0);
  };

  return (
    <form class="stack" onSubmit={(event) => void unlock(event)}>
      <PickOne
        legend="Who are you?"
        across
        options={people.map((one) => ({ id: one, text: one }))}
        value={name}
        onPick={setName}
      />
      <PinField label="Your PIN or passphrase" value={pin} onText={setPin} />
      {refused && <Why refused={refused} name={name ?? ""} left={left} onServer={onServer} />}
      <Button type="submit" kind="main" big wide disabled={name === null || pin === "" || busy || left > 0}>
        {busy ? "Opening…" : "Unlock"}
      </Button>
    </form>
  );
}

function Why({
  refused,
  name,
  left,
  onServer,
}: {
  refused: Refused;
  name: string;
  left: number;
  onServer: () => void;
}) {
  const wait = left > 0 ? ` The next try is looked at in ${span(left)}.` : "";
  switch (refused.why) {
    case "wrong":
      return (
        <Notice kind="warn" title={`That is not ${name}'s PIN`} loud>
          <p>
            {count(refused.left, "more wrong try", "more wrong tries")}, and only the server can help {name}.
            {wait}
          </p>
        </Notice>
      );
    case "wait":
      return (
        <Notice kind="warn" title="Too soon after a wrong try" loud>
          <p>{wait || " Try again now."}</p>
        </Notice>
      );
    case "server":
      return (
        <Notice kind="danger" title={`${name}'s PIN opens nothing any more`} loud>
          <p>There were ten wrong tries in a row. The clinic lead can help with a code.</p>
          <Button onClick={onServer}>I have a code</Button>
        </Notice>
      );
    case "nobody":
      return (
        <Notice kind="warn" title={`${name} has no PIN here any more`} loud>
          <p>Somebody else who has one can set one for you, in Settings.</p>
        </Notice>
      );
  }
}
