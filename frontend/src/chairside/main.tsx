import "../ui/styles";
import "./chairside.css";
import "./reaction/reaction.css";
import { effect } from "@preact/signals";
import { type ComponentChild, render } from "preact";
import { type Log, openLog } from "../log";
import { openShelf } from "../pack";
import { applyLook, setSheetExit } from "../ui";

import { join, startActor } from "./app";
import { startAppUpdates } from "./appupdate";
import { ErrorBoundary } from "./ErrorBoundary";
import { readAhead } from "./later";
import { Root } from "./Root";
import { ExitButton } from "./reaction/ExitButton";
import { reopenEmergency } from "./reaction/reopen";
import { route, startRouter } from "./router";
import { Insecure, StartTrouble } from "./screens/Trouble";
import { wire } from "./wiring";

const root = document.getElementById("app") as HTMLElement;

/** In place of what the page says until there is an app. */
function draw(screen: ComponentChild): void {
  root.querySelector(".not-begun")?.remove();
  render(screen, root);
}

/** On a phone with PINs its screens are read in; on any other, once the first is set. */
async function watchLock(log: Log): Promise<void> {
  const has = (): boolean => log.lockView.value.state !== "open";
  const begin = (): Promise<void> => import("./locking").then((m) => m.beginLocking());
  if (has()) return begin();
  effect(() => {
    if (has()) void begin();
  });
}

async function start(): Promise<void> {
  applyLook("chairside");
  startRouter();
  // over plain http the browser gives no signing key and no offline app, so nothing is begun
  if (!isSecureContext) return draw(<Insecure />);
  startActor();
  const [log, shelf] = await Promise.all([openLog(), openShelf()]);
  join(log, shelf);
  wire(log, shelf);
  await watchLock(log);
  setSheetExit(ExitButton, () => route.peek().over === "emergency");
  reopenEmergency();
  draw(
    <ErrorBoundary>
      <Root />
    </ErrorBoundary>,
  );
  void import("./reaction/ahead").then((m) => m.keepDrawnAhead());
  readAhead();
  void startAppUpdates();
}

start().catch((error: unknown) => draw(<StartTrouble error={error} />));
