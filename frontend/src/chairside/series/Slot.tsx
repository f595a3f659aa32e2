/** Where the strip of the series stands in every screen's frame. Only this much of it is read at a cold start. */
import { signal } from "@preact/signals";
import type { ComponentType } from "preact";
import { app } from "../app";
import { casesInHand } from "../wiring";

const strip = signal<ComponentType | null>(null);
let asked = false;

function read(): void {
  if (asked) return;
  asked = true;
  import("../timed").then(
    (m) => {
      m.startWatch();
      strip.value = m.Strip;
    },
    () => {
      asked = false; // the part is in the offline shell; the next screen asks for it again
    },
  );
}

export function SeriesSlot() {
  const mine = casesInHand(app.log.cases.value, app.log.device.value?.id ?? null);
  const runs = mine.some((c) => c.dye.injected.length > 0);
  if (runs) read();
  const Strip = strip.value;
  return runs && Strip ? <Strip /> : null;
}
