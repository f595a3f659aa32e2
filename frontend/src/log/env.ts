/** What the log needs of the browser, so that tests can stand in for it. */
import { uuid4 } from "./bytes";

export interface Env {
  /** Wall clock, ms since 1970. */
  now(): number;
  /** Ms since the app's start; no clock change moves it. */
  mono(): number;
  /** Random id of this start. */
  readonly boot: string;
  /** 0 up to 1. */
  random(): number;
  fetch(path: string, init: RequestInit): Promise<Response>;
  /** Calls back once; returns how to call it off. */
  timer(ms: number, work: () => void): () => void;
  /** Holds a named lock, over all tabs, while `work` runs; `held` is false when `ifFree` and it is taken. */
  lock<T>(name: string, ifFree: boolean, work: (held: boolean) => Promise<T>): Promise<T>;
  /** Tells other tabs; `hear` is called with what they tell. Returns how to send and how to close. */
  channel(hear: (message: unknown) => void): { send(message: unknown): void; close(): void };
  /** Calls back when the person or the network comes back. `thawed` after a stay in the page cache. */
  onReturn(work: (thawed: boolean) => void): () => void;
  /** Rounds of a PIN's derivation; where it is not given, as many as are asked for today. */
  readonly pinRounds?: number;
}

/** A lock within one tab, for browsers without Web Locks. Two tabs are then kept apart by the check of the head
 * inside each write, which refuses the slower one. */
const queues = new Map<string, Promise<unknown>>();

function localLock<T>(name: string, ifFree: boolean, work: (held: boolean) => Promise<T>): Promise<T> {
  const before = queues.get(name);
  if (before && ifFree) return work(false);
  const mine = (before ?? Promise.resolve()).then(() => work(true));
  const settled = mine.then(
    () => undefined,
    () => undefined, // the caller has the error through `mine`; the queue only needs to know that it is over
  );
  queues.set(name, settled);
  void settled.then(() => {
    if (queues.get(name) === settled) queues.delete(name);
  });
  return mine;
}

function webLock<T>(name: string, ifFree: boolean, work: (held: boolean) => Promise<T>): Promise<T> {
  const locks = globalThis.navigator?.locks;
  if (!locks) return localLock(name, ifFree, work);
  return locks.request(name, { ifAvailable: ifFree }, (lock) => work(lock !== null)) as Promise<T>;
}

export function browserEnv(channelName: string = "chinrest-log"): Env {
  return {
    now: () => Date.now(),
    mono: () => Math.round(performance.now()),
    boot: uuid4(),
    random: Math.random,
    fetch: (path, init) => fetch(path, init),
    timer: (ms, work) => {
      const handle = setTimeout(work, ms);
      return () => clearTimeout(handle);
    },
    lock: webLock,
    channel: (hear) => {
      if (typeof BroadcastChannel === "undefined") return { send: () => undefined, close: () => undefined };
      const channel = new BroadcastChannel(channelName);
      channel.onmessage = (event: MessageEvent) => hear(event.data);
      return { send: (message) => channel.postMessage(message), close: () => channel.close() };
    },
    onReturn: (work) => {
      if (typeof window === "undefined") return () => undefined;
      const online = (): void => work(false);
      const visible = (): void => {
        if (document.visibilityState === "visible") work(false);
      };
      const shown = (event: PageTransitionEvent): void => {
        if (event.persisted) work(true);
      };
      window.addEventListener("online", online);
      window.addEventListener("pageshow", shown);
      document.addEventListener("visibilitychange", visible);
      return () => {
        window.removeEventListener("online", online);
        window.removeEventListener("pageshow", shown);
        document.removeEventListener("visibilitychange", visible);
      };
    },
  };
}

/** A request with a time limit. A dead network may otherwise keep one waiting for ever. The body is read inside
 * the limit too. */
export async function fetchWithin(
  env: Env,
  limitMs: number,
  path: string,
  init: RequestInit,
): Promise<{ status: number; headers: Headers; body: ArrayBuffer }> {
  const abort = new AbortController();
  const off = env.timer(limitMs, () => abort.abort(new DOMException("no answer in time", "TimeoutError")));
  try {
    const response = await env.fetch(path, { ...init, signal: abort.signal });
    const body = await response.arrayBuffer();
    return { status: response.status, headers: response.headers, body };
  } finally {
    off();
  }
}

/** The body as text, and parsed where it is JSON (else undefined). */
export function readBody(body: ArrayBuffer): { text: string; value: unknown } {
  const text = new TextDecoder().decode(body);
  try {
    return { text, value: JSON.parse(text) };
  } catch (error) {
    if (error instanceof SyntaxError) return { text, value: undefined };
    throw error;
  }
}
