/** On every screen while a dye's clock runs: the clock, what comes, and a call when a frame waits. */
import "./series.css";
import { Icon, LinkButton } from "../../ui";
import { hrefOf, route } from "../router";
import { clockText } from "../tell/series";
import { useWakeLock } from "../wake";
import { clockFor, isOpen } from "./course";
import { isLate } from "./timing";
import { type Timed, timed } from "./watch";
import { frameLine, whenWords } from "./words";

export function Strip() {
  const here = route.value;
  // a case keeps the screen awake by itself; a call from another page needs it too
  useWakeLock(here.page !== "case" && timed.value.length > 0);
  return (
    <>
      {timed.value
        .filter(({ state }) => !(here.page === "case" && here.id === state.id && here.screen === "series"))
        .map((one) => (
          <One key={one.state.id} one={one} named={here.page !== "case" || here.id !== one.state.id} />
        ))}
    </>
  );
}

function One({ one, named }: { one: Timed; named: boolean }) {
  const { state, clocks, course, now_s } = one;
  const current = course === null || course.stopped ? null : (course.running ?? course.current);
  const in_s = current === null || now_s === null || course === null ? null : course.call_s - now_s;
  const late = in_s !== null && isLate(in_s) && course?.running === null;
  const uncertain = clocks.find((clock) => clock.state === "uncertain");
  const lost = uncertain !== undefined;
  const clock = uncertain ?? (current && clockFor(current, clocks)) ?? clocks[0];
  return (
    <section class={`series-strip ${late || lost ? "series-strip-late" : ""}`} aria-label="The dye's clock">
      <p class="series-strip-words">
        <Icon name={late || lost ? "warn" : "clock"} />
        <span>
          {named && <span class="strong">{state.code}: </span>}
          {clock?.name}{" "}
          {lost ? (
            <span class="strong">clock uncertain</span>
          ) : (
            <span class="number strong">{clock?.seconds == null ? "" : clockText(clock.seconds)}</span>
          )}{" "}
          {course?.running ? (
            "· burst runs"
          ) : current === null ? (
            course === null || course.stopped ? (
              ""
            ) : course.frames.some(isOpen) ? (
              "· no frame left in its window"
            ) : (
              "· all frames answered"
            )
          ) : (
            <>
              {in_s === null ? "· " : `· ${whenWords(in_s)}: `}
              {frameLine(current)}
            </>
          )}
        </span>
      </p>
      {/* read out once when it becomes late, not with every second */}
      <p class="only-heard" role="alert">
        {late && current !== null ? `A frame waits: ${frameLine(current)}` : lost ? "Clock uncertain" : ""}
      </p>
      <LinkButton kind={late || lost ? "main" : "plain"} href={hrefOf(state.id, "series")}>
        {late || lost ? "Go to it" : "Series"}
      </LinkButton>
    </section>
  );
}
