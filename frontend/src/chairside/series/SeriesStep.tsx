/** The step that holds the series: the way into its screen, and the way on when it is over. */
import "./series.css";
import { Button, LinkButton, Notice } from "../../ui";
import type { PanelProps } from "../guide";
import { hrefOf } from "../router";
import { Checklist } from "./Checklist";
import { Clocks, Uncertain } from "./Clocks";
import { courseOf, isOpen, layoutOf } from "./course";
import { startWatch, timed } from "./watch";

export function SeriesStep({ state, held, wanted, onSaved, onNone }: PanelProps & { wanted: string[] }) {
  startWatch();
  const layout = layoutOf(held.pack, state);
  const one = timed.value.find((t) => t.state.id === state.id);
  const clocks = one?.clocks ?? [];
  const doubt = clocks
    .filter((clock) => clock.state === "uncertain")
    .map((clock) => <Uncertain key={clock.dye} state={state} clock={clock} />);
  if (layout === null || layout.optic !== state.optic) {
    return (
      <div class="stack">
        {clocks.length > 0 && <Clocks clocks={clocks} />}
        {doubt}
        <Notice title="No layout in time is for this case">
          <p>These dyes, this optic and these eyes have none. The frames are checked off eye by eye.</p>
        </Notice>
        <Checklist {...{ state, held, wanted, onSaved, onNone }} />
      </div>
    );
  }
  const course = one?.course ?? courseOf(held.pack, layout, state, clocks);
  const answered = course.frames.filter((frame) => !isOpen(frame)).length;
  const over = course.stopped || (course.running === null && course.current === null);
  // a series that was stopped has its reason already
  const none =
    !course.stopped && course.frames.every((frame) => frame.tries === 0 && frame.burstLine === null);
  const text = `${answered} of ${course.frames.length}`;
  return (
    <div class="stack">
      {clocks.length > 0 && <Clocks clocks={clocks} />}
      {doubt}
      <p>
        <span class="number strong">{text}</span> frames answered
        {course.stopped ? "; the series is stopped" : ""}.
      </p>
      <LinkButton kind={over ? "plain" : "main"} big wide href={hrefOf(state.id, "series")}>
        {answered === 0 ? "Open the series" : "Back to the series"}
      </LinkButton>
      {none && onNone ? (
        <Button wide onClick={onNone}>
          None taken: say why
        </Button>
      ) : (
        <Button kind={over ? "main" : "plain"} big={over} wide onClick={() => void onSaved(text)}>
          {answered === course.frames.length || course.stopped
            ? "Go on"
            : `Go on with ${course.frames.length - answered} open`}
        </Button>
      )}
    </div>
  );
}
