import { effect, signal } from "@preact/signals";

/** How this person wants it to look on this device. Kept beside the page, so it holds before anything is loaded. */
export interface Look {
  theme: "dark" | "day" | "system";
  text: "normal" | "large" | "larger" | "largest";
  hand: "right" | "left";
}

const KEY = "chinrest-look";
export const DARK_ROOM: Look = { theme: "dark", text: "normal", hand: "right" };

/** What was kept, as far as it still makes sense; the rest from `fallback`. */
export function readLook(kept: string | null, fallback: Look): Look {
  if (kept === null) return fallback;
  try {
    const read = JSON.parse(kept) as Partial<Look> | null;
    const oneOf = <T>(value: unknown, all: readonly T[], other: T) =>
      all.includes(value as T) ? (value as T) : other;
    return {
      theme: oneOf(read?.theme, ["dark", "day", "system"], fallback.theme),
      text: oneOf(read?.text, ["normal", "large", "larger", "largest"], fallback.text),
      hand: oneOf(read?.hand, ["right", "left"], fallback.hand),
    };
  } catch {
    return fallback; // damaged settings are not worth a message: the defaults are safe
  }
}

export const look = signal<Look>(DARK_ROOM);

export function setLook(change: Partial<Look>): void {
  look.value = { ...look.value, ...change };
  try {
    localStorage.setItem(KEY, JSON.stringify(look.value));
  } catch {
    // a full or forbidden store: the look still holds until the page is closed
  }
}

/** Puts the kept look on the page and keeps it there. Call once, before the first paint. */
export function applyLook(place: "chairside" | "desk", fallback: Look = DARK_ROOM): void {
  let kept: string | null = null;
  try {
    kept = localStorage.getItem(KEY);
  } catch {
    // storage is forbidden here; the page says so elsewhere
  }
  look.value = readLook(kept, fallback);
  const light = matchMedia("(prefers-color-scheme: light)");
  const systemLight = signal(light.matches);
  light.addEventListener("change", () => {
    systemLight.value = light.matches;
  });
  const root = document.documentElement;
  root.dataset.place = place;
  effect(() => {
    const { theme, text, hand } = look.value;
    const shown = theme === "system" ? (systemLight.value ? "day" : "dark") : theme;
    root.dataset.theme = shown;
    root.dataset.text = text;
    root.dataset.hand = hand;
    const colour = document.querySelector('meta[name="theme-color"]');
    colour?.setAttribute("content", shown === "day" ? "#f6f1e6" : "#000000");
  });
}
