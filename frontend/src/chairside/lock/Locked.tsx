import { useEffect, useState } from "preact/hooks";
import { Button, Mark, Notice } from "../../ui";
import { app, caseHere, isLocked } from "../app";
import { Banners } from "../frame/Banners";
import { BottomBar } from "../frame/BottomBar";
import { Sending } from "../home/Sending";
import { dyeClocks, dyeName } from "../reaction/dyeClocks";
import { ReactionStrip } from "../reaction/ReactionStrip";
import { route } from "../router";
import { Since, useReadings } from "../Since";
import { Withdrawn } from "../screens/Withdrawn";
import { Recover } from "./Recover";
import { Unlock } from "./Unlock";

/** In place of every page while nobody has unlocked the phone. What must not wait is in the bar below. */
export function Locked() {
  const [people, setPeople] = useState<string[] | null>(null);
  const [gone, setGone] = useState<string[]>([]);
  const [byCode, setByCode] = useState(false);
  const device = app.log.device.value;
  const hand = caseHere(route.value);
  const locked = isLocked();
  useEffect(() => {
    if (!locked) return;
    void app.log.lock().then(async (lock) => {
      const [known, out] = [await lock.people(), await lock.gone()];
      setPeople(known);
      setGone(out);
      if (known.length === 0) setByCode(true);
    });
  }, [locked]);

  return (
    <div class="case-frame">
      <header>
        <div class="case-head">
          <div class="case-head-row">
            <h1 class="page-name">
              <Mark /> <span>Locked</span>
            </h1>
          </div>
        </div>
        <Banners sha256={null} />
        <ReactionStrip of={null} />
      </header>
      <main class="case-main" id="main" tabIndex={-1}>
        <div class="stack-wide">
          <p class="quiet">
            {device?.label} · {device?.siteName}
          </p>
          <DyeClocks />
          {app.log.sync.value.withdrawn && <Withdrawn />}
          {gone.length > 0 && (
            <Notice kind="warn" title={`Withdrawn: ${gone.join(", ")}`}>
              <p>
                The clinic lead has closed this site's phones to{" "}
                {gone.length === 1 ? "this name" : "these names"}. What was logged stays, and is still sent.
              </p>
            </Notice>
          )}
          {people !== null &&
            (byCode ? (
              <Recover people={people} />
            ) : (
              <Unlock people={people} onServer={() => setByCode(true)} />
            ))}
          {people !== null && people.length > 0 && (
            <Button kind="quiet" onClick={() => setByCode(!byCode)}>
              {byCode ? "Back to the PIN" : "PIN forgotten?"}
            </Button>
          )}
          <Notice title="These need no PIN">
            {hand === null ? (
              <p>
                An emergency can be opened and recorded at once. No case was in hand, so an event or a comfort
                check has nothing to belong to yet.
              </p>
            ) : (
              <p>
                An emergency, an event or a comfort check can be recorded at once, below. It goes to the case
                that was last worked on here.
              </p>
            )}
            <p>It names nobody until somebody unlocks the phone and says who it was.</p>
          </Notice>
          <Sending here />
        </div>
      </main>
      {hand === null ? <BottomBar outside /> : <BottomBar locked />}
    </div>
  );
}

/** They go on: where each begins can be read with no PIN. */
function DyeClocks() {
  const readings = useReadings(1000);
  const device = app.log.device.value?.id ?? null;
  const state = app.log.cases.value.find((c) => c.opened);
  const clocks = dyeClocks(state, device, readings);
  if (clocks.length === 0) return null;
  return (
    <section class="emergency-clocks" aria-label="Clocks">
      {clocks.map((clock) => (
        <p key={clock.dye}>
          <Since clock={clock} as="t-do number" />{" "}
          <span class="t-small">since {dyeName(clock.dye).toLowerCase()}</span>
        </p>
      ))}
    </section>
  );
}
