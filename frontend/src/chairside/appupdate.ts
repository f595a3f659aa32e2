/** The app's own version: registers the offline shell, notices a new one, and lets it take over only when asked
 * to, between cases. */
import { type ReadonlySignal, signal } from "@preact/signals";

const WORKER = "/sw.js";
/** Where the worker notes which build is shown, and which is the newest that is whole on this phone. */
const NOTES = "chinrest-app";
/** Focus comes often; the server is asked for a new version at most this often. */
const LOOK_AGAIN_MS = 60_000;

export type ShellState = "absent" | "installing" | "ready" | "failed";

const ready = signal(false);
const shellState = signal<ShellState>("absent");
const shellFault = signal<string | null>(null);

/** A new version is waiting to take over. */
export const updateReady: ReadonlySignal<boolean> = ready;
/** Whether the app starts without the server: `ready` once everything it needs is on the phone. */
export const shell: ReadonlySignal<ShellState> = shellState;
export const shellFailure: ReadonlySignal<string | null> = shellFault;

let registration: ServiceWorkerRegistration | null = null;
let lookedAt = 0;
/** The newer build's worker is active already, since the app was closed meanwhile; the earlier page is still shown. */
let heldBack = false;

interface TrustedTypes {
  createPolicy(
    name: string,
    rules: { createScriptURL(url: string): string },
  ): {
    createScriptURL(url: string): unknown;
  };
}

/** Under Trusted Types a worker's address must come from a policy; this one lets a single address through. */
function workerAddress(): string {
  const types = (globalThis as { trustedTypes?: TrustedTypes }).trustedTypes;
  if (!types) return WORKER;
  const policy = types.createPolicy("chinrest-sw", {
    createScriptURL: (url) => {
      if (url !== WORKER) throw new TypeError(`${url} is not the app's worker`);
      return url;
    },
  });
  return policy.createScriptURL(WORKER) as string;
}

function watch(worker: ServiceWorker | null): void {
  if (!worker) return;
  const look = (): void => {
    if (worker.state === "redundant" && shellState.peek() === "installing") shellState.value = "failed";
    if (worker.state === "activated") shellState.value = "ready";
    // without a controller this is the first install, and not an update
    if (worker.state === "installed" && navigator.serviceWorker.controller) ready.value = true;
  };
  worker.addEventListener("statechange", look);
  look();
}

/** Whether a newer build is whole on this phone and another one is shown. */
async function isHeldBack(): Promise<boolean> {
  const notes = await globalThis.caches?.open(NOTES);
  const [shown, newest] = await Promise.all(
    ["/shown", "/newest"].map(async (name) => (await notes?.match(name))?.text()),
  );
  return shown !== undefined && newest !== undefined && shown !== newest;
}

/** Asks the server whether there is a new version. Quiet when it can't be reached: the app works as it is. */
export async function lookForUpdate(now: number = Date.now()): Promise<void> {
  if (!registration || now - lookedAt < LOOK_AGAIN_MS) return;
  lookedAt = now;
  try {
    await registration.update();
  } catch (error) {
    if (!(error instanceof TypeError) && !(error instanceof DOMException)) throw error;
  }
}

/** Called once at the start. Never rejects; what went wrong stands in `shellFailure`. */
export async function startAppUpdates(): Promise<void> {
  const container = navigator.serviceWorker as ServiceWorkerContainer | undefined;
  if (!container) return;
  try {
    shellState.value = container.controller ? "ready" : "installing";
    registration = await container.register(workerAddress(), { updateViaCache: "none" });
    heldBack = !registration.waiting && (await isHeldBack());
  } catch (error) {
    if (!container.controller) shellState.value = "failed";
    shellFault.value = error instanceof Error ? error.message : String(error);
    return;
  }
  lookedAt = Date.now();
  if ((registration.waiting || heldBack) && container.controller) ready.value = true;
  registration.addEventListener("updatefound", () => watch(registration?.installing ?? null));
  watch(registration.installing);
  watch(registration.active);
  const look = (): void => {
    if (document.visibilityState === "visible") void lookForUpdate();
  };
  window.addEventListener("focus", look);
  document.addEventListener("visibilitychange", look);
}

/** Lets the waiting version take over and loads it. Called by the home screen only, between cases: everything that
 * counts is in the log by then. Returns false when there is none. */
export function takeOver(reload: () => void = () => location.reload()): boolean {
  const container = navigator.serviceWorker;
  const waiting = registration?.waiting;
  const newer = waiting ?? (heldBack ? registration?.active : null);
  if (!newer) {
    ready.value = false;
    return false;
  }
  if (waiting) container.addEventListener("controllerchange", reload, { once: true });
  else {
    // it is in control already, so it says itself when it is done
    container.addEventListener("message", (event) => {
      if ((event.data as { type?: unknown } | null)?.type === "taken-over") reload();
    });
  }
  newer.postMessage({ type: "take-over" });
  return true;
}
