/** Where a case stands in its timed series: each frame of the layout with its answer, and what comes now. */
import { asItCame, type CaseState, cameAfter, type Eye } from "../../log";
import type { FrameTaken, LaidFrame, Layout, Modality, Pack, Protocol } from "../../types.gen";
import { reachClassOf } from "../map/ways";
import type { DyeClock } from "./clocks";
import type { Placed } from "./moves";
import { placedFor, relaidAt } from "./relay";

export interface SeriesFrame extends Omit<LaidFrame, "eye"> {
  /** The patient's own eye; `role` is what the protocol calls it. */
  eye: Eye;
  role: LaidFrame["eye"];
  gaze_deg: [number, number];
  /** Of a series with one dye. */
  alone: boolean;
  /** `running`: a burst under way. `shot`: one that was taken and is to be looked through. */
  status: "open" | "running" | "shot" | FrameTaken["outcome"];
  reason: string;
  tries: number;
  /** The line that began the burst. */
  burstLine: string | null;
  /** Planned start as laid anew from where the series stands, on the line; null where it does not fit any more. */
  due_s: number | null;
}

export interface Course {
  protocol: Protocol | null;
  layout: Layout;
  frames: SeriesFrame[];
  /** The burst that runs, if one does. */
  running: SeriesFrame | null;
  current: SeriesFrame | null;
  /** What follows the current frame. */
  after: SeriesFrame | null;
  /** Open frames whose windows are out of reach, and those that no longer fit beside the others. */
  shut: SeriesFrame[];
  crowded: SeriesFrame[];
  /** How late the current frame may begin with all that comes still kept; null where nobody can tell. */
  slack_s: number | null;
  /** Bursts that nobody has looked through. */
  unseen: SeriesFrame[];
  stopped: boolean;
  /** Where the hands come from; null before the first frame. */
  before: Placed | null;
  /** When the current frame should begin, on the line. */
  call_s: number;
}

/** The dyes that the case asks for and that are not left out. */
export function dyesOf(state: CaseState): Modality[] {
  return state.modalities.filter((one) => one !== "colour");
}

/** Layouts for this case's dyes, its optic, and one eye or two, whatever the face. */
function layoutsOf(pack: Pack, state: CaseState): Layout[] {
  const dyes = new Set(dyesOf(state));
  const eyes = state.eyes.length > 1 ? "two" : "one";
  return (pack.layouts ?? []).filter((layout) => {
    const given = layout.dyes.map((one) => one.dye);
    return (
      layout.optic === state.optic &&
      layout.eyes === eyes &&
      given.length === dyes.size &&
      given.every((dye) => dyes.has(dye))
    );
  });
}

/**
 * One layout for each protocol that is for this case as it stands: for a face like this, by the eye that the series
 * goes by; for the usual face, which the pack names first, where this one is not measured or has none of its own.
 */
export function layoutsFor(pack: Pack, state: CaseState): Layout[] {
  const all = layoutsOf(pack, state);
  const reach = reachClassOf(pack, state.face[eyeFor(state, "study")]?.body);
  return [...new Set(all.map((layout) => layout.protocol))].flatMap((protocol) => {
    const its = all.filter((layout) => layout.protocol === protocol);
    const mine = its.find(({ classes }) => !classes?.length || (reach !== null && classes.includes(reach)));
    return mine ?? its[0] ?? [];
  });
}

/** The layout that is followed: the one that was chosen, while it is for the case; else the first that is. */
export function layoutOf(pack: Pack, state: CaseState): Layout | null {
  const chosen = state.laid.at(-1)?.body.layout;
  // a face that is measured anew in mid-series changes nothing of what is followed
  const followed = layoutsOf(pack, state).find((layout) => layout.id === chosen);
  return followed ?? layoutsFor(pack, state)[0] ?? null;
}

export function eyeFor(state: CaseState, role: LaidFrame["eye"]): Eye {
  const study: Eye = state.studyEye ?? state.eyes[0] ?? "right";
  if (role === "study") return study;
  return study === "right" ? "left" : "right";
}

/** The layout's frames with the case's answers, in the layout's order. */
export function framesOf(layout: Layout, state: CaseState): SeriesFrame[] {
  return layout.frames.map((laid) => {
    const mine = state.frames.map((noted) => noted.body).filter((body) => body.series_frame === laid.id);
    const last = mine.at(-1);
    const bursts = state.bursts.filter(({ body }) => body.frames.includes(laid.id));
    const begun = bursts.filter(({ body }) => body.state === "started").at(-1);
    const ended = bursts.at(-1)?.body.state === "ended";
    const status = last?.outcome ?? (begun === undefined ? "open" : ended ? "shot" : "running");
    return {
      ...laid,
      eye: eyeFor(state, laid.eye),
      role: laid.eye,
      alone: layout.dyes.length === 1,
      gaze_deg: [laid.h, laid.v],
      status,
      reason: last?.reason ?? "",
      tries: mine.filter((body) => body.outcome !== "missed").length,
      burstLine: begun?.line ?? null,
      due_s: laid.start_s,
    };
  });
}

export function isOpen(frame: SeriesFrame): boolean {
  return frame.status === "open" || frame.status === "again";
}

/** The clock of a frame's dye; undefined while that dye is not given. */
export function clockFor(frame: Pick<SeriesFrame, "dye">, clocks: readonly DyeClock[]): DyeClock | undefined {
  return clocks.find((clock) => clock.modality === frame.dye);
}

/** Seconds since the first injection, by whichever clock tells; null while none does. */
export function lineNow(layout: Layout, clocks: readonly DyeClock[]): number | null {
  for (const { dye, after_s } of [...layout.dyes].sort((a, b) => a.after_s - b.after_s)) {
    const clock = clocks.find((one) => one.modality === dye);
    if (clock !== undefined && clock.seconds !== null) return clock.seconds + after_s;
  }
  return null;
}

/** A burst that has begun runs until somebody says so, or its window is over: both hands are on the instrument. */
function runs(frame: SeriesFrame, clocks: readonly DyeClock[]): boolean {
  const seconds = clockFor(frame, clocks)?.seconds ?? null;
  return frame.status === "running" && (seconds === null || seconds < frame.to_s);
}

/** The newest frame or burst by this optic, as the place that the hands come from. */
function placedAt(frames: readonly SeriesFrame[], state: CaseState, optic: string): Placed | null {
  const taken = state.frames.filter(({ body }) => body.outcome !== "missed");
  const shot = asItCame<CaseState["frames"][number] | CaseState["bursts"][number]>(state, [
    ...taken,
    ...state.bursts,
  ]).at(-1)?.body;
  if (shot === undefined || shot.optic !== optic) return null;
  const id = "frames" in shot ? shot.frames[0] : shot.series_frame;
  const known = frames.find((frame) => frame.id === id);
  if (known !== undefined) return known;
  return "gaze_deg" in shot ? { eye: shot.eye, gaze_deg: shot.gaze_deg, turn: 0 } : null;
}

/** The open frames where no clock tells the time: on from the last answered one, and what was passed over after. */
function onward(frames: readonly SeriesFrame[], open: readonly SeriesFrame[]): SeriesFrame[] {
  const last = frames.findLastIndex((frame) => !isOpen(frame));
  const before = (frame: SeriesFrame): boolean => frames.indexOf(frame) < last;
  return [...open.filter((frame) => !before(frame)), ...open.filter(before)];
}

/** Laid again after it was stopped, as after an emergency that came to nothing, it goes on. */
export function isStopped(state: Pick<CaseState, "laid" | "seriesStopped" | "entries">): boolean {
  const stop = state.seriesStopped.at(-1);
  return stop !== undefined && cameAfter(state, stop, state.laid.at(-1));
}

/** The case's series by a layout, at this moment. */
export function courseOf(pack: Pack, layout: Layout, state: CaseState, clocks: readonly DyeClock[]): Course {
  const now_s = lineNow(layout, clocks);
  const frames = framesOf(layout, state);
  const running = frames.find((frame) => runs(frame, clocks)) ?? null;
  for (const frame of frames) if (frame.status === "running" && frame !== running) frame.status = "shot";
  const open = frames.filter(isOpen);
  const next = relaidAt(pack.pace, layout, state, frames, clocks, now_s);
  if (next !== null) for (const frame of open) frame.due_s = next.due_s.get(frame.id) ?? null;
  const order =
    next === null ? onward(frames, open) : next.order.flatMap((id) => open.find((f) => f.id === id) ?? []);
  const current = order[0] ?? null;
  const named = (ids: readonly string[]): SeriesFrame[] => open.filter((frame) => ids.includes(frame.id));
  return {
    protocol: pack.protocols.find((one) => one.id === layout.protocol) ?? null,
    layout,
    frames,
    running,
    current,
    after: running !== null ? current : (order[1] ?? null),
    shut: named(next?.shut ?? []),
    crowded: named(next?.crowded ?? []),
    slack_s: next?.slack_s ?? null,
    unseen: frames.filter((frame) => frame.status === "shot"),
    stopped: isStopped(state),
    before: placedFor(state, frames) ?? placedAt(frames, state, layout.optic),
    call_s: next?.call_s ?? current?.start_s ?? 0,
  };
}
