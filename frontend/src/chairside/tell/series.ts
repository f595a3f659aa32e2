/** The lines of the timed series, told in words. */
import { protocolName } from "../../pack";
import type { BodyOf, Pack } from "../../types.gen";
import { dyeName } from "./dye";

type Series = "series.laid" | "series.burst" | "series.looked" | "series.stopped" | "clock.uncertain";

/** `4:05` after the injection, as the clock of the series shows it. */
export function clockText(seconds: number): string {
  const whole = Math.floor(Math.abs(seconds) + 1e-6);
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor((whole % 3600) / 60);
  const rest = String(whole % 60).padStart(2, "0");
  const text = hours > 0 ? `${hours}:${String(minutes).padStart(2, "0")}:${rest}` : `${minutes}:${rest}`;
  return seconds < 0 && whole > 0 ? `−${text}` : text;
}

const at = (seconds: number | null | undefined): string =>
  seconds === null || seconds === undefined ? "" : `at ${clockText(seconds)}`;
const together = (...parts: string[]): string => parts.filter(Boolean).join(" · ");
const eye = (side: string): string => `${side} eye`;

export const SERIES_TELL: {
  [T in Series]: (body: BodyOf[T], pack: Pack | null) => { title?: string; detail?: string };
} = {
  "series.laid": (b, p) => ({
    detail: together(protocolName(p, b.protocol), b.eyes.map(eye).join(", then ")),
  }),
  "series.burst": (b) => ({
    title: b.state === "started" ? "Burst began" : "Burst ended",
    detail: together(eye(b.eye), at(b.dye_s)),
  }),
  "series.looked": (b) => ({
    detail: together(`${b.shots} frames`, b.bad.length > 0 ? `of no use: ${b.bad.join(", ")}` : "all of use"),
  }),
  "series.stopped": (b) => ({ detail: b.why }),
  "clock.uncertain": (b, p) => ({
    detail: together(
      dyeName(p, b.dye),
      `${clockText(b.wall_s)} by the time of day`,
      b.mono_s === null || b.mono_s === undefined ? "" : `at least ${clockText(b.mono_s)} as counted`,
      b.agreed_s === null || b.agreed_s === undefined
        ? "not agreed yet"
        : `agreed: ${clockText(b.agreed_s)}${b.by ? ` (${b.by})` : ""}`,
    ),
  }),
};
