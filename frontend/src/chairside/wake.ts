/** Keeps the screen awake during a case, where the browser allows it. */
import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";

const can = typeof navigator !== "undefined" && "wakeLock" in navigator;

/** How it stands, for home and the settings screen: `absent` where the browser has no such thing. */
export const awake = signal<"held" | "off" | "refused" | "absent">(can ? "off" : "absent");

export function useWakeLock(wanted: boolean): void {
  useEffect(() => {
    if (!wanted || !can) return;
    let held: WakeLockSentinel | null = null;
    let over = false;
    const ask = async () => {
      if (over || document.visibilityState !== "visible" || (held && !held.released)) return;
      try {
        held = await navigator.wakeLock.request("screen");
        if (over) await held.release();
        else awake.value = "held";
      } catch {
        awake.value = "refused"; // low battery or the browser's own rule: the settings screen says so
      }
    };
    void ask();
    // the browser lets go whenever the page is hidden, and some only allow it after a touch
    document.addEventListener("visibilitychange", ask);
    document.addEventListener("pointerdown", ask);
    return () => {
      over = true;
      document.removeEventListener("visibilitychange", ask);
      document.removeEventListener("pointerdown", ask);
      void held?.release();
      awake.value = "off";
    };
  }, [wanted]);
}
