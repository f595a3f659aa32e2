/** The lines of the timed series, told at the desk. */
import type { BodyOf } from "../types.gen";
import type { Names } from "./names";
import type { Telling } from "./telling";

type Series = "series.laid" | "series.burst" | "series.looked" | "series.stopped" | "clock.uncertain";

/** `4 min 05 s`: minutes as the clock of the series shows them. */
export function afterDye(seconds: number | null | undefined): string {
  if (seconds === null || seconds === undefined) return "";
  const whole = Math.round(seconds);
  const minutes = Math.floor(Math.abs(whole) / 60);
  const rest = Math.abs(whole) % 60;
  const text = minutes > 0 ? `${minutes} min ${String(rest).padStart(2, "0")} s` : `${rest} s`;
  return whole < 0 ? `${text} before the dye` : `${text} after the dye`;
}

const rowsOf = (...rows: [string, string][]): [string, string][] => rows.filter(([, value]) => value !== "");

export const SERIES_TELLERS: { [T in Series]: (body: BodyOf[T], names: Names) => Telling } = {
  "series.laid": (b, n) => ({
    title: "Series laid",
    tone: "plain",
    rows: rowsOf(
      ["Protocol", n.protocol(b.protocol)],
      ["Layout", b.layout],
      ["Eyes", b.eyes.join(", then ")],
    ),
  }),
  "series.burst": (b, n) => ({
    title: b.state === "started" ? "Burst began" : "Burst ended",
    tone: "plain",
    rows: rowsOf(["Eye", b.eye], ["Optic", n.optic(b.optic)], ["When", afterDye(b.dye_s)]),
  }),
  "series.looked": (b) => ({
    title: "Burst looked through",
    tone: "plain",
    rows: rowsOf(["Frames", String(b.shots)], ["Of no use", b.bad.length > 0 ? b.bad.join(", ") : "none"]),
  }),
  "series.stopped": (b) => ({ title: "Series stopped", tone: "caution", rows: rowsOf(["Why", b.why]) }),
  "clock.uncertain": (b, n) => ({
    title: "Dye clock uncertain",
    tone: "caution",
    rows: rowsOf(
      ["Dye", n.dye(b.dye)],
      ["By the time of day", afterDye(b.wall_s)],
      ["Counted by the app, the least", afterDye(b.mono_s)],
      ["Agreed by the team", afterDye(b.agreed_s)],
      ["By", b.by ?? ""],
    ),
  }),
};
