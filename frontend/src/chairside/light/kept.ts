/** How the dot was last set on this phone. Kept beside the page: the next showing begins with it. */
import { signal } from "@preact/signals";
import { COLOURS, type Dot, firstDot, RATES, SIZES } from "./dot";

const KEY = "chinrest-light";

/** What was kept, as far as it still makes sense; the rest as a light begins. */
export function readDot(kept: string | null, first: Dot): Dot {
  if (kept === null) return first;
  try {
    const read = JSON.parse(kept) as Partial<Dot> | null;
    return {
      size: SIZES.find((s) => s.id === read?.size)?.id ?? first.size,
      colour: COLOURS.find((c) => c.id === read?.colour)?.id ?? first.colour,
      rate: RATES.find((r) => r.id === read?.rate)?.id ?? first.rate,
    };
  } catch {
    return first; // damaged settings are not worth a message
  }
}

function begin(): Dot {
  const first = firstDot(matchMedia("(prefers-reduced-motion: reduce)").matches);
  try {
    return readDot(localStorage.getItem(KEY), first);
  } catch {
    return first;
  }
}

let kept: ReturnType<typeof signal<Dot>> | null = null;

/** Read when it is first asked for: the module may be loaded where there is no window. */
export function dotInUse() {
  kept ??= signal<Dot>(begin());
  return kept;
}

export function setDot(change: Partial<Dot>): void {
  const dot = dotInUse();
  dot.value = { ...(dot.value as Dot), ...change };
  try {
    localStorage.setItem(KEY, JSON.stringify(dot.value));
  } catch {
    // it holds until the page is closed
  }
}
