/** The one keeper of what the phone's two clocks said. Whoever shows a clock asks here, so that a dye's, an emergency's
 * and the watch's go by the same readings, on whatever screen and after whatever start. */
import type { ClockReading } from "../../kernel/clock";
import { app } from "../app";
import { dropReadings, keepReadings, keptReadings, readingsOf, type Stretch, withReading } from "./readings";

/** How often the readings are kept. */
const KEEP_MS = 1000;

let stretches: Stretch[] | null = null;
let keptAt = Number.NEGATIVE_INFINITY;
/** Whether the page was hidden at any moment since the last reading: the kernel tells sleep from a set clock by it. */
let wasHidden = true;
let follows = false;

function hidden(): boolean {
  return typeof document !== "undefined" && document.visibilityState === "hidden";
}

function follow(): void {
  if (follows || typeof document === "undefined") return;
  follows = true;
  document.addEventListener("visibilitychange", () => {
    wasHidden ||= hidden();
  });
}

/** Everything kept, oldest first, and this moment last. */
export function readingsNow(): ClockReading[] {
  follow();
  const now = { ...app.log.reading(), hidden: wasHidden || hidden() };
  wasHidden = hidden();
  const before = stretches ?? keptReadings(now.boot);
  stretches = withReading(before, now);
  // what changed between two readings must reach the store; what only runs on may wait for the second
  if (stretches.length !== before.length || now.mono - keptAt >= KEEP_MS) {
    keepReadings(now.boot, stretches);
    keptAt = now.mono;
  }
  return readingsOf(stretches);
}

/** No clock of a dye or of an emergency runs on this phone any more. */
export function forgetReadings(): void {
  if (stretches !== null) dropReadings();
  stretches = null;
}
