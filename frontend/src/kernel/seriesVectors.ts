/** The pack's checks of the dye's clock and of the next frame. */
import type { Layout, NextFrames, Pack } from "../types.gen";
import { secondsSince } from "./clock";
import { nextFrames } from "./nextFrame";

const SAME_S = 1e-6;

export type SeriesProved = Partial<Pick<Pack, "clock_vectors" | "next_frame_vectors" | "layouts" | "pace">>;

/** Words for each disagreement. A pack without such checks has no series, and nothing to prove. */
export function checkSeries(pack: SeriesProved): string[] {
  const clocks = (pack.clock_vectors ?? []).map((vector) => () => {
    const answer = secondsSince(vector.anchor, vector.readings);
    if (answer.state !== vector.state || answer.by !== vector.by) {
      return `it is ${answer.state} by ${answer.by} here and ${vector.state} by ${vector.by} in the pack`;
    }
    return (
      differs(answer.seconds, vector.seconds) ??
      differs(answer.wall_s, vector.wall_s) ??
      differs(answer.mono_s, vector.mono_s)
    );
  });
  const layouts = new Map((pack.layouts ?? []).map((layout) => [layout.id, layout]));
  const next = (pack.next_frame_vectors ?? []).map((vector) => () => {
    const layout = layouts.get(vector.layout);
    if (layout === undefined || pack.pace === undefined) return `the pack has no layout '${vector.layout}'`;
    return differentNext(nextFrames(layout as Layout, pack.pace, vector.progress), vector.answer);
  });
  return [...told("dye clock", clocks), ...told("next frame", next)];
}

function told(what: string, checks: (() => string | null)[]): string[] {
  return checks.flatMap((check, i) => {
    let why: string | null;
    try {
      why = check();
    } catch (error) {
      why = error instanceof Error ? error.message : String(error);
    }
    return why === null ? [] : [`${what}, check ${i + 1}: ${why}`];
  });
}

function differs(got: number | null, wanted: number | null): string | null {
  const same = got === null || wanted === null ? got === wanted : Math.abs(got - wanted) <= SAME_S;
  return same ? null : `the seconds are ${got ?? "none"} here and ${wanted ?? "none"} in the pack`;
}

function differentNext(got: NextFrames, wanted: NextFrames): string | null {
  const names = ({ coming, shut, crowded, relaid }: NextFrames): string =>
    [coming.map(({ id }) => id), shut, crowded, relaid].join(" | ");
  if (names(got) !== names(wanted)) return `the order is ${names(got)} here and ${names(wanted)} in the pack`;
  const times = got.coming.flatMap((frame, i) => {
    const other = wanted.coming[i];
    return (["move_s", "begin_s", "shut_s"] as const).map((key) => differs(frame[key], other?.[key] ?? null));
  });
  return [...times, differs(got.slack_s, wanted.slack_s)].find((why) => why !== null) ?? null;
}
