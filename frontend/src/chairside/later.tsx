/** Screens off the way of a case: in the offline shell with the rest, read in when the phone is idle or they are asked
 * for, so that a cold start reads less. What must never wait (emergency, event, comfort, failures) is not among them. */
import { signal } from "@preact/signals";
import type { ComponentType } from "preact";
import { Loading } from "../ui";

const IDLE_AFTER_MS = 1500;
const all: (() => Promise<void>)[] = [];

export function later<P extends object>(load: () => Promise<ComponentType<P>>): ComponentType<P> {
  const loaded = signal<ComponentType<P> | null>(null);
  const fault = signal<unknown>(null);
  const read = async (): Promise<void> => {
    if (loaded.peek()) return;
    try {
      loaded.value = await load();
      fault.value = null;
    } catch (error) {
      fault.value = error;
    }
  };
  all.push(read);
  return function Later(props: P) {
    const Screen = loaded.value;
    if (Screen) return <Screen {...props} />;
    if (fault.value) throw fault.value; // the boundary says so, and can load again
    void read();
    return <Loading>Opening…</Loading>;
  };
}

/** Reads them all in once the first screen stands. */
export function readAhead(): void {
  setTimeout(() => {
    for (const read of all) void read();
  }, IDLE_AFTER_MS);
}
