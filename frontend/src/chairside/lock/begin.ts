/** From the start of a phone with PINs, or from its first PIN on: who is at it, what is shown, and when it locks. */
import { effect, signal } from "@preact/signals";
import type { Lock, Unnamed } from "../../log";
import { actor, app, forgetActor, shut } from "../app";
import { keepDraftsIn } from "../drafts";
import { saving } from "../record";
import { go, route } from "../router";
import { HiddenDrafts } from "./drafts";
import { isDue } from "./idle";
import { Locked } from "./Locked";
import { WhoWrote } from "./WhoWrote";

const LOOK_MS = 5_000;
const CHANNEL = "chinrest-lock";
const TOUCHES = ["pointerdown", "keydown", "input"] as const;

/** Lines that name nobody, when somebody has just unlocked the phone. */
export const unnamed = signal<Unnamed[]>([]);

let drafts: HiddenDrafts | null = null;
let begun: Promise<void> | null = null;

/** Once for the page, however often it is called. */
export function beginLocking(): Promise<void> {
  begun ??= begin();
  return begun;
}

async function begin(): Promise<void> {
  const { log } = app;
  const lock = await log.lock();
  drafts = new HiddenDrafts(lock);
  keepDraftsIn(drafts);
  forgetActor();
  if (log.lockView.peek().state === "locked") {
    stand();
    const here = route.peek();
    // what lay over a screen is not what the locked page is asked for
    if (here.over !== null && here.over !== "emergency") go({ ...here, over: null }, { replace: true });
  }
  let open = log.lockView.peek().state === "unlocked";
  effect(() => {
    const view = log.lockView.value;
    const over = route.value.over;
    if (view.state === "unlocked") {
      open = true;
      actor.value = view.name;
    } else if (open) {
      actor.value = null;
      shut.value = Locked;
      // loaded anew, so that nothing stays in the memory of the screens; not over an emergency
      if (over !== "emergency") location.reload();
    }
  });
  watchUse();
}

function stand(): void {
  actor.value = null;
  shut.value = Locked;
}

/** Once a PIN has opened the phone: what was half entered, and then the question who wrote on the locked phone. */
export async function comeIn(lock: Lock): Promise<void> {
  await drafts?.open();
  unnamed.value = await lock.unconfirmed();
  shut.value = unnamed.peek().length > 0 ? WhoWrote : null;
}

/** The question is answered, or put off until the next unlock. */
export function goOn(): void {
  unnamed.value = [];
  shut.value = null;
}

/** Resolves once nothing can be read any more. What was tapped or half entered before is kept first. */
export async function lockNow(): Promise<void> {
  await until(() => saving.value === 0);
  await drafts?.flush();
  await (await app.log.lock()).lock();
}

function until(holds: () => boolean): Promise<void> {
  return new Promise((resolve) => {
    let stop: (() => void) | null = null;
    let done = false;
    stop = effect(() => {
      if (!holds()) return;
      done = true;
      stop?.();
      resolve();
    });
    if (done) stop();
  });
}

let toOthers: BroadcastChannel | null = null;

/** By hand: every tab of this phone, but for one that is in an emergency. */
export async function lockAll(): Promise<void> {
  toOthers?.postMessage("lock");
  await lockNow();
}

function watchUse(): void {
  const { log } = app;
  let touchedAt = Date.now();
  let hiddenAt: number | null = document.visibilityState === "hidden" ? Date.now() : null;
  let locking = false;
  const inEmergency = (): boolean => route.peek().over === "emergency";
  const look = (): void => {
    if (locking || log.lockView.peek().state !== "unlocked") return;
    if (!isDue({ touchedAt, hiddenAt, emergency: inEmergency(), cases: log.cases.peek() }, Date.now()))
      return;
    locking = true;
    void lockNow().finally(() => {
      locking = false;
    });
  };
  for (const touch of TOUCHES) {
    const touched = (): void => {
      touchedAt = Date.now();
    };
    addEventListener(touch, touched, { capture: true, passive: true });
  }
  document.addEventListener("visibilitychange", () => {
    look(); // before what was hidden is seen again
    hiddenAt = document.visibilityState === "hidden" ? Date.now() : null;
  });
  setInterval(look, LOOK_MS);
  if (typeof BroadcastChannel === "undefined") return;
  toOthers = new BroadcastChannel(CHANNEL);
  toOthers.onmessage = () => {
    if (log.lockView.peek().state === "unlocked" && !inEmergency()) void lockNow();
  };
}
