import { type CaseState, type Reaction, running } from "../../log";
import { Button, Icon } from "../../ui";
import { app } from "../app";
import { go, isOver, openOver } from "../router";
import { sinceText, useReadings } from "../Since";
import { looseRunning } from "./begin";
import { Reminder } from "./Reminder";
import { reactionClock } from "./remind";
import { tablesOf } from "./tables";

/** An emergency that runs is said on every screen, its clock and the way back to it. `of`: this case, else any. */
export function ReactionStrip({ of }: { of: CaseState | null }) {
  const cases = app.log.cases.value;
  const own = app.log.device.value?.id ?? null;
  const state = of && running(of) ? of : (looseRunning(cases, own) ?? cases.find((c) => mine(c, own)));
  const reaction = state ? running(state) : null;
  if (!state || !reaction || isOver("emergency")) return null;
  const open = () => {
    if (state.opened && of?.id !== state.id) go({ page: "case", id: state.id, screen: "step", tail: [] });
    else if (!state.opened && of) go({ page: "home" });
    openOver("emergency");
  };
  return (
    <section class="banners" aria-label="Emergency">
      <Button kind="danger" wide onClick={open}>
        <Icon name="emergency" /> Emergency, <Runs reaction={reaction} device={own} />
        {of?.id !== state.id && ` (${state.code || "no case"})`}: go back to it
      </Button>
      <Reminder reaction={reaction} tables={tablesOf(app.shelf.current.value?.pack ?? null)} />
    </section>
  );
}

/** By itself, so that the clocks are read only while an emergency runs. */
function Runs({ reaction, device }: { reaction: Reaction; device: string | null }) {
  return <span class="number">{sinceText(reactionClock(reaction, device, useReadings(1000)))}</span>;
}

function mine(state: CaseState, device: string | null): boolean {
  return state.opened && running(state)?.device === device;
}
