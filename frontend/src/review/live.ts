/** Hears from the server that something changed, so that the page shown is asked for again. Nothing here is shown as new: what is shown is always an answer. */

import { type Signal, signal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import type { Changed } from "../types.gen";
import { stillWho } from "./api";

export type Kind = Changed["kinds"][number];

/** off: nobody listens (yet). on: the server's word comes. cut: it doesn't, and is tried for again. */
export const hearing = signal<"off" | "on" | "cut">("off");

const KINDS: Kind[] = ["lines", "reviews", "devices", "packs"];
type Counts = Record<Kind, Signal<number>>;
const none = (): Counts => ({ lines: signal(0), reviews: signal(0), devices: signal(0), packs: signal(0) });
const counts = none();
/** Without the first hearing of a page, before which hardly anything can have been missed. */
const news = none();

const SILENT_MS = 40_000; // the server beats every 15 s: after two beats missed, the stream is dead
const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 60_000;

/** How long to wait before the nth try in a row (from 0): doubled each time, a part of it by chance, so that many desks don't all come back at once. */
export function waitBefore(tries: number, chance: number): number {
  const most = Math.min(FIRST_WAIT_MS * 2 ** tries, LONGEST_WAIT_MS);
  return most / 2 + (most / 2) * chance;
}

/** What it needs of the browser; a test gives its own. */
export interface Ears {
  open: (path: string) => EventSource;
  chance: () => number;
  /** The stream is lost: perhaps because whoever sits here may hear no more, which it can't say itself. */
  lost: () => void;
}

/** Listens until the returned function is called. `missed`: something may have changed since this page heard last. */
export function listen(ears: Ears, missed = false): () => void {
  let source: EventSource | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let tries = 0;
  const leave = () => {
    clearTimeout(timer);
    source?.close();
    source = null;
  };
  const lost = () => {
    leave();
    hearing.value = "cut";
    missed = true;
    ears.lost();
    timer = setTimeout(open, waitBefore(tries, ears.chance()));
    tries += 1;
  };
  const heard = () => {
    clearTimeout(timer);
    timer = setTimeout(lost, SILENT_MS);
    if (hearing.value === "on") return;
    hearing.value = "on";
    tries = 0;
    tell(KINDS, missed); // nobody knows what was missed until now
  };
  const open = () => {
    source = ears.open("/api/changes");
    source.addEventListener("beat", heard);
    source.addEventListener("changed", (event) => {
      heard();
      tell((JSON.parse((event as MessageEvent<string>).data) as Changed).kinds);
    });
    // the browser's own trying again knows no patience, and gives up at a refusal
    source.addEventListener("error", lost);
    clearTimeout(timer);
    timer = setTimeout(lost, SILENT_MS);
  };
  open();
  return () => {
    leave();
    hearing.value = "off";
  };
}

function tell(kinds: readonly Kind[], isNew = true): void {
  for (const kind of kinds) {
    if (!(kind in counts)) continue; // a newer server may tell of kinds that this page doesn't know
    counts[kind].value += 1;
    if (isNew) news[kind].value += 1;
  }
}

/** Listens while somebody is signed in and the page is in sight. */
export function useListening(): void {
  useEffect(() => {
    const ears: Ears = {
      open: (path) => new EventSource(path),
      chance: Math.random,
      lost: () => void stillWho(),
    };
    let stop: (() => void) | null = null;
    let heardBefore = false;
    const follow = () => {
      if (document.visibilityState === "visible") {
        stop ??= listen(ears, heardBefore);
        heardBefore = true;
      } else {
        stop?.();
        stop = null;
      }
    };
    follow();
    document.addEventListener("visibilitychange", follow);
    return () => {
      document.removeEventListener("visibilitychange", follow);
      stop?.();
    };
  }, []);
}

/** How often readers would have been told of this kind. */
export function newsOf(kind: Kind): number {
  return news[kind].peek();
}

function useSum(of: Counts, kinds: Kind[]): number {
  const wanted = useMemo(() => kinds, [kinds.join()]);
  return wanted.reduce((sum, kind) => sum + of[kind].value, 0);
}

/** A number that grows whenever something of these kinds has changed, or may have. */
export function useChanges(...kinds: Kind[]): number {
  return useSum(counts, kinds);
}

/** The same for what is said to whoever reads: it does not grow where a page has only begun to listen. */
export function useNews(...kinds: Kind[]): number {
  return useSum(news, kinds);
}
