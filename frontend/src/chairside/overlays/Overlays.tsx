import { app, caseHere, isLocked, useGuidance } from "../app";
import { later } from "../later";
import { caseOfEmergency } from "../reaction/begin";
import { Emergency } from "../reaction/Emergency";
import { closeOver, route } from "../router";
import { Comfort } from "./Comfort";
import { Event } from "./Event";

const Finish = later(() => import("../further").then((m) => m.Finish));
const History = later(() => import("../further").then((m) => m.History));
const Unfinished = later(() => import("../further").then((m) => m.UnfinishedSheet));

/** What lies over the screen. The emergency needs no case, no guidance and no working store. */
export function Overlays() {
  const here = route.value;
  const id = caseHere(here);
  const state = id === null ? undefined : app.log.cases.value.find((c) => c.id === id);
  const guidance = useGuidance(state);
  const held = guidance?.held ?? null;
  if (here.over === null) return null;
  if (here.over === "emergency")
    return <Emergency state={caseOfEmergency(here)} held={held ?? app.shelf.current.value} />;
  // without its case an overlay has nothing to write to
  if (!state || app.log.failure.value) return null;
  if (isLocked() && here.over !== "comfort" && here.over !== "event") return null;
  switch (here.over) {
    case "comfort":
      return <Comfort key={state.id} state={state} held={held} onClose={closeOver} />;
    case "event":
      return <Event key={state.id} state={state} held={held} onClose={closeOver} />;
    case "history":
      return <History key={state.id} state={state} held={held} onClose={closeOver} />;
    case "finish":
      return <Finish key={state.id} state={state} held={held} onClose={closeOver} />;
    case "unfinished":
      return <Unfinished key={state.id} state={state} held={held} onClose={closeOver} />;
    case "steps":
      return null; // drawn by the step's own screen, which knows the plan
  }
}
