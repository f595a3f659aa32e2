import { useEffect, useState } from "preact/hooks";
import { Button, Notice, Sheet } from "../../ui";
import { app } from "../app";
import { beginLocking, comeIn, lockAll } from "./begin";
import { isSame, NewPin, type Typed, UNTYPED } from "./NewPin";

/** In Settings: the first PIN, one for each of the others, and the lock. */
export function Pins() {
  const view = app.log.lockView.value;
  const [asks, setAsks] = useState<"first" | "more" | null>(null);
  const [people, setPeople] = useState<string[]>([]);
  const name = view.state === "unlocked" ? view.name : null;
  useEffect(() => {
    if (name !== null) void app.log.lock().then(async (lock) => setPeople(await lock.people()));
  }, [name, asks]);

  return (
    <section class="stack-tight" aria-labelledby="pins">
      <h2 id="pins">PINs</h2>
      {name === null ? (
        <>
          <p>
            None. Anybody who holds this phone unlocked can read and write its log. Where several people share
            it, give each a PIN of their own.
          </p>
          <Button wide onClick={() => setAsks("first")}>
            Set the first PIN
          </Button>
        </>
      ) : (
        <>
          <p>
            Unlocked by <span class="strong">{name}</span>. It locks by itself after five minutes without a
            touch, and never in an emergency or a burst.
          </p>
          <p class="quiet t-small">Have a PIN here: {people.join(", ")}.</p>
          <div class="row">
            <Button onClick={() => void lockAll()}>Lock now</Button>
            <Button onClick={() => setAsks("more")}>A PIN for somebody</Button>
          </div>
        </>
      )}
      {asks && <Ask first={asks === "first"} onClose={() => setAsks(null)} />}
    </section>
  );
}

function Ask({ first, onClose }: { first: boolean; onClose: () => void }) {
  const [typed, setTyped] = useState<Typed>(UNTYPED);
  const [busy, setBusy] = useState(false);
  const [why, setWhy] = useState<string | null>(null);
  const ready = typed.name.trim() !== "" && isSame(typed) && !busy;

  const set = async () => {
    if (!ready) return;
    setBusy(true);
    setWhy(null);
    try {
      const lock = await app.log.lock();
      if (first) {
        const said = await lock.setFirst(typed.name, typed.pin);
        if (!said.ok) return setWhy(said.fault.why);
        await beginLocking();
        await comeIn(lock);
      } else {
        const said = await lock.setPin(typed.name, typed.pin);
        if (!said.ok) return setWhy(said.why);
      }
      onClose();
    } catch (error) {
      setWhy(error instanceof Error ? error.message : String(error));
    } finally {
      setBusy(false);
    }
  };

  return (
    <Sheet
      title={first ? "The first PIN" : "A PIN for somebody"}
      onClose={onClose}
      foot={
        <Button kind="main" big wide disabled={!ready} onClick={() => void set()}>
          {busy ? (first ? "Encrypting…" : "Setting…") : "Set this PIN"}
        </Button>
      }
    >
      <form
        class="stack"
        onSubmit={(event) => {
          event.preventDefault();
          void set();
        }}
      >
        {first ? (
          <>
            <p>
              From then on all lines on this phone are encrypted, and it starts locked. It can't be undone
              here. This one step needs the network.
            </p>
            <Notice kind="warn" title="What six digits are worth">
              <p>
                They keep a colleague or a finder out. Somebody who copies the phone's store can try all of
                them within minutes: a passphrase holds, and a lost phone is to be withdrawn at once.
              </p>
            </Notice>
          </>
        ) : (
          <p>Hand them the phone to type it. A name that has a PIN already gets this one in its place.</p>
        )}
        <NewPin typed={typed} onType={setTyped} />
        {why !== null && (
          <Notice kind="danger" title="Not set" loud>
            <p>{why}</p>
          </Notice>
        )}
      </form>
    </Sheet>
  );
}
