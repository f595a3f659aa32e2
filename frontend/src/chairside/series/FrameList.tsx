/** Every frame of the layout in order, with its answer; a tap makes one the current frame. */
import type { Pack } from "../../types.gen";
import { Icon } from "../../ui";
import { clockText } from "../tell/series";
import { type Course, isOpen, type SeriesFrame } from "./course";
import { frameLine } from "./words";

const MARK = {
  taken: { icon: "tick", text: "Taken" },
  again: { icon: "warn", text: "Take again" },
  missed: { icon: "cross", text: "Missed" },
  running: { icon: "forward", text: "Runs" },
  shot: { icon: "eye", text: "Shot, not looked through" },
} as const;

/** What is answered, as it was laid; then what is to come, as it comes; last what no longer fits. */
function inOrder(frames: readonly SeriesFrame[]): SeriesFrame[] {
  const rank = (frame: SeriesFrame): number => (isOpen(frame) ? (frame.due_s ?? 1e9) : -1);
  return [...frames].sort((a, b) => rank(a) - rank(b));
}

export function FrameList({
  course,
  pack,
  onPick,
}: {
  course: Course;
  pack: Pack;
  onPick: (frame: SeriesFrame) => void;
}) {
  const shut = new Set(course.shut.map((frame) => frame.id));
  const reason = (id: string): string =>
    pack.choices.frame_again.find((c) => c.id === id)?.text.toLowerCase() ?? id;
  return (
    <ul class="frames">
      {inOrder(course.frames).map((frame) => {
        const mark = frame.status === "open" ? null : MARK[frame.status];
        const now = frame.id === course.current?.id;
        return (
          <li key={frame.id}>
            <button
              type="button"
              class={`frame-row ${now ? "frame-now" : ""}`}
              aria-current={now ? "step" : undefined}
              onClick={() => onPick(frame)}
            >
              <span class={`frame-mark frame-${frame.status}`}>{mark && <Icon name={mark.icon} />}</span>
              <span>
                {frameLine(frame)}
                <span class="choice-help">
                  {mark === null
                    ? shut.has(frame.id)
                      ? "Its window is over"
                      : frame.due_s === null
                        ? "Does not fit beside the others"
                        : `About ${clockText(frame.due_s ?? frame.start_s)}, ${frame.needed ? "needed" : "wanted"}`
                    : mark.text}
                  {frame.reason !== "" && `: ${reason(frame.reason)}`}
                  {frame.tries > 1 && `, ${frame.tries} tries`}
                </span>
              </span>
            </button>
          </li>
        );
      })}
    </ul>
  );
}
