import type { Gaps } from "../../types.gen";
import { day } from "../when";
import { Figure, Table, Warnings } from "./Figure";
import { count, percent, significant } from "./figures";
import { EndName, Mark, Path, type Shape } from "./plot/marks";
import { Plot } from "./plot/Plot";
import { across, endNames, ticks, upward } from "./plot/scales";
import { runsWords } from "./runs";

interface GapPoint {
  value: number;
  shape: Shape;
  word: string;
}

const UP =
  "Up is better here: a point is the stretch without an event before the next one. Above the upper limit is a long stretch, or events that nobody wrote down.";

/** The last so many, so that the points stay apart; the table has them all. */
const SHOWN = 120;

export function CasesBetween({ gaps, none }: { gaps: Gaps | null; none: string | undefined }) {
  const chart = gaps?.cases;
  const points = (chart?.points ?? []).map(
    ({ cases, above_ucl, above_exact }): GapPoint => ({
      value: cases,
      shape: above_exact ? "square" : above_ucl ? "triangle" : "dot",
      word: above_exact ? "above both limits" : above_ucl ? "above the 3-sigma limit" : "within the limits",
    }),
  );
  return (
    <Figure
      title="Procedures between events"
      none={none}
      about={
        <p>
          Procedures without the event between two events (g-chart). {UP} The 3-sigma limit of such a chart is
          crossed by chance
          {chart ? ` by ${percent(chart.false_alarm)} of points` : " far more often than on others"}; the
          exact limit by 0.135 %. No lower limit can flag events that come too close together: the runs and
          the running sum below look for those.{" "}
          {gaps && chart && runsWords(chart.runs, (place) => day(gaps.ends[place] ?? 0))}
        </p>
      }
      table={gaps && <GapTable gaps={gaps} points={points} unit="Procedures without" digits={0} />}
    >
      {gaps && chart && (
        <>
          <Picture
            points={points}
            yName="Procedures without the event"
            levels={[
              { at: chart.exact_high, kind: "far", name: "exact" },
              { at: chart.ucl, kind: "limit", name: "3 sigma" },
              { at: chart.mean, kind: "mean", name: "mean" },
              { at: chart.median, kind: "centre", name: "median" },
            ]}
          />
          <Warnings said={chart.small_number} />
        </>
      )}
    </Figure>
  );
}

export function DaysBetween({ gaps, none }: { gaps: Gaps | null; none: string | undefined }) {
  const chart = gaps?.days;
  const points = (chart?.points ?? []).map(
    ({ days, above_ucl, below_lcl }): GapPoint => ({
      value: days,
      shape: above_ucl ? "triangle" : below_lcl ? "diamond" : "dot",
      word: above_ucl ? "above the limit" : below_lcl ? "below the limit" : "within the limits",
    }),
  );
  return (
    <Figure
      title="Days between events"
      none={none}
      about={
        <p>
          Days between two events, whatever was done in them (t-chart by the power 1/3.6). {UP}{" "}
          {gaps && chart && runsWords(chart.runs, (place) => day(gaps.ends[place] ?? 0))}
        </p>
      }
      table={gaps && <GapTable gaps={gaps} points={points} unit="Days" digits={3} />}
    >
      {gaps && chart && (
        <>
          <Picture
            points={points}
            yName="Days"
            levels={[
              { at: chart.ucl, kind: "limit", name: "limit" },
              { at: chart.centre, kind: "mean", name: "centre" },
              { at: chart.median, kind: "centre", name: "median" },
            ]}
          />
          <Warnings said={chart.small_number} />
        </>
      )}
    </Figure>
  );
}

function Picture({
  points,
  levels,
  yName,
}: {
  points: GapPoint[];
  levels: { at: number; kind: string; name: string }[];
  yName: string;
}) {
  const first = Math.max(0, points.length - SHOWN);
  const shown = points.slice(first);
  const x = across(first + 0.5, first + shown.length + 0.5);
  const y = upward(Math.max(...shown.map((p) => p.value), ...levels.map((l) => l.at)));
  const names = endNames(
    levels.map(({ at, name }) => ({ at: y(at), name })),
    16,
  );
  const [left, right] = [first + 0.5, first + shown.length + 0.5];
  return (
    <>
      <Plot
        said={`${yName}: ${shown.length} gaps, the last ${significant(shown.at(-1)?.value ?? 0, 3)}; ${
          shown.filter((p) => p.shape !== "dot").length
        } beyond a limit.`}
        x={x}
        y={y}
        xTicks={ticks(x, 10).filter(({ at }) => Number.isInteger(at))}
        yTicks={ticks(y, 5)}
        xName="Gap, in the order of time"
        yName={yName}
      >
        {levels.map(({ at, kind, name }) => (
          <Path
            key={name}
            points={[
              [left, at],
              [right, at],
            ]}
            x={x}
            y={y}
            kind={kind}
          />
        ))}
        {names.map(({ at, name }) => (
          <EndName key={name} y={at} name={name} />
        ))}
        <Path
          points={shown.map((p, place): [number, number] => [first + place + 1, p.value])}
          x={x}
          y={y}
          kind="data"
        />
        {shown.map((point, place) => (
          <Mark
            // gaps have no other name than their place
            key={place}
            x={x(first + place + 1)}
            y={y(point.value)}
            shape={point.shape}
            small={shown.length > 40}
            told={`${significant(point.value, 3)}, ${point.word}`}
          />
        ))}
      </Plot>
      {first > 0 && (
        <p class="quiet t-small">
          The last {SHOWN} of {count(points.length)} gaps; the table has them all.
        </p>
      )}
    </>
  );
}

function GapTable({
  gaps,
  points,
  unit,
  digits,
}: {
  gaps: Gaps;
  points: GapPoint[];
  unit: string;
  digits: number;
}) {
  return (
    <Table
      caption={unit}
      heads={["Gap", "Ended by an event in a case opened on", unit, "Where"]}
      rows={points.map((point, place) => [
        count(place + 1),
        day(gaps.ends[place] ?? 0),
        digits ? significant(point.value, digits) : count(point.value),
        point.word,
      ])}
    />
  );
}
