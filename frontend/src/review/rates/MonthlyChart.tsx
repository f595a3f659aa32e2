import type { Monthly } from "../../types.gen";
import { Figure, Table, Warnings } from "./Figure";
import { asPerThousand, count, monthShort, monthWords } from "./figures";
import { EndName, Mark, Path } from "./plot/marks";
import { Plot } from "./plot/Plot";
import { across, endNames, placeTicks, ticks, upward } from "./plot/scales";
import { RULES, runsWords } from "./runs";

export function MonthlyChart({
  monthly,
  none,
  of,
}: {
  monthly: Monthly | null;
  none: string | undefined;
  of?: string;
}) {
  return (
    <Figure
      title="Month by month"
      of={of}
      none={none}
      about={
        <p>
          Events per procedure in each month, with limits 3 standard errors from the rate of all months
          (u-chart). Triangles lie beyond a limit; squares complete another rule.{" "}
          {monthly && runsWords(monthly.chart.runs, (place) => monthWords(monthly.months[place] ?? ""))}{" "}
          {monthly?.unfinished && (
            <strong>The last month still runs: its point is hollow, and can still move.</strong>
          )}
        </p>
      }
      table={
        monthly && (
          <Table
            caption="Month by month"
            heads={["Month", "Events", "Procedures", "Per 1,000", "Limits", "Rules"]}
            rows={monthly.months.map((month, place) => {
              const point = monthly.chart.points[place];
              return [
                monthWords(month),
                count(monthly.events[place] ?? 0),
                count(monthly.procedures[place] ?? 0),
                point ? asPerThousand(point.rate) : "",
                point ? `${asPerThousand(point.lcl)} to ${asPerThousand(point.ucl)}` : "",
                point ? said(point.beyond_limits, point.rules) : "",
              ];
            })}
          />
        )
      }
    >
      {monthly && (
        <>
          <Picture monthly={monthly} />
          <Warnings said={monthly.chart.small_number} />
        </>
      )}
    </Figure>
  );
}

const said = (beyond: boolean, rules: (keyof typeof RULES)[]): string =>
  [
    ...(beyond ? ["beyond a limit"] : []),
    ...rules.filter((r) => r !== "beyond_3_sigma").map((r) => RULES[r]),
  ].join("; ") || "none";

function Picture({ monthly }: { monthly: Monthly }) {
  const { points, centre } = monthly.chart;
  const most = Math.max(...points.map(({ rate, ucl }) => Math.max(rate, ucl))) * 1000;
  const x = across(-0.5, points.length - 0.5);
  const y = upward(most);
  // limits change from month to month: they are drawn as steps around each month's middle
  const steps = (of: "ucl" | "lcl"): [number, number][] => [
    ...points.map((point, place): [number, number] => [place - 0.5, point[of] * 1000]),
    [points.length - 0.5, (points.at(-1)?.[of] ?? 0) * 1000],
  ];
  const last = points.at(-1);
  const names = endNames(
    [
      { at: y((last?.ucl ?? 0) * 1000), name: "limit" },
      { at: y(centre * 1000), name: "all months" },
      { at: y((last?.lcl ?? 0) * 1000), name: "limit" },
    ],
    16,
  );
  return (
    <Plot
      said={`Events per 1,000 in ${points.length} months; ${points.filter((p) => p.beyond_limits).length} lie beyond a limit.`}
      x={x}
      y={y}
      xTicks={placeTicks(monthly.months.map(monthShort))}
      yTicks={ticks(y, 5)}
      xName="Month in which the case was opened (UTC)"
      yName="Events per 1,000"
    >
      <Path points={steps("ucl")} x={x} y={y} kind="limit" steps />
      <Path points={steps("lcl")} x={x} y={y} kind="limit" steps />
      <Path
        points={[
          [-0.5, centre * 1000],
          [points.length - 0.5, centre * 1000],
        ]}
        x={x}
        y={y}
        kind="centre"
      />
      {names.map(({ at, name }) => (
        <EndName key={at} y={at} name={name} />
      ))}
      <Path
        points={points.map((p, place): [number, number] => [place, p.rate * 1000])}
        x={x}
        y={y}
        kind="data"
      />
      {points.map((point, place) => {
        const open = monthly.unfinished && place === points.length - 1;
        const shape = point.beyond_limits
          ? "triangle"
          : point.rules.length > 0
            ? "square"
            : open
              ? "ring"
              : "dot";
        const month = monthly.months[place] ?? "";
        return (
          <Mark
            key={month}
            x={x(place)}
            y={y(point.rate * 1000)}
            shape={shape}
            told={`${monthWords(month)}: ${monthly.events[place]} among ${monthly.procedures[place]}`}
          />
        );
      })}
    </Plot>
  );
}
