import { scaleLinear } from "d3-scale";
import type { Rate, RateReport } from "../../types.gen";
import { Mark, type Shape } from "./plot/marks";
import { ticks } from "./plot/scales";

export interface IntervalRow {
  key: string;
  name: string;
  rate: Rate;
  shape: Shape;
}

const WIDE = 880;
const LEFT = 300;
const RIGHT = 24;
const ROW = 30;

/** Each rate as a mark on its exact interval, ours as dots, other people's as hollow diamonds. */
export function IntervalPlot({ report, name }: { report: RateReport; name: (key: string) => string }) {
  const rows: IntervalRow[] = [...report.rows, ...(report.by === "none" ? [] : [report.total])].flatMap(
    (row) =>
      row.rate
        ? [
            {
              key: row === report.total ? "all" : `ours ${row.key}`,
              name: row === report.total ? "All together" : name(row.key),
              rate: row.rate,
              shape: (row === report.total ? "square" : "dot") as Shape,
            },
          ]
        : [],
  );
  for (const { published, rate } of report.published) {
    if (published.which !== "any") continue;
    rows.push({
      key: published.id,
      name: `${published.source.split(",")[0]}, ${published.route}`,
      rate,
      shape: "diamond",
    });
  }
  if (rows.length < 2 || rows.length > 40) return null;
  return (
    <figure class="rates-figure">
      <figcaption>
        <strong>Each rate on its 95 % exact interval, per 1,000.</strong> Dots: a row of the table; square:
        all together{report.published.length > 0 ? "; hollow diamonds: other people's, any reaction" : ""}.
        The figures stand in the tables.
      </figcaption>
      <Intervals rows={rows} said={`Intervals of ${rows.length} rates; the figures stand in the tables.`} />
    </figure>
  );
}

export function Intervals({
  rows,
  said,
  axis = "per 1,000",
}: {
  rows: IntervalRow[];
  said: string;
  axis?: string;
}) {
  const high = rows.length * ROW + 52;
  const largest = Math.max(...rows.map(({ rate }) => Math.min(rate.exact95[1], 1000)));
  const x = scaleLinear()
    .domain([0, largest])
    .range([LEFT, WIDE - RIGHT])
    .nice(6);
  const bottom = rows.length * ROW + 8;
  return (
    <div class="plot-room">
      <svg class="plot plot-rows" viewBox={`0 0 ${WIDE} ${high}`} role="img" aria-label={said}>
        {ticks(x, 6).map((tick) => (
          <g key={tick.at}>
            <line class="plot-grid" x1={x(tick.at)} x2={x(tick.at)} y1={4} y2={bottom} />
            <text class="plot-text" x={x(tick.at)} y={bottom + 18} text-anchor="middle">
              {tick.text}
            </text>
          </g>
        ))}
        <text class="plot-name" x={(LEFT + WIDE - RIGHT) / 2} y={high - 6} text-anchor="middle">
          {axis}
        </text>
        {rows.map(({ key, name, rate, shape }, place) => {
          const y = place * ROW + ROW / 2 + 4;
          const [low, top] = rate.exact95;
          return (
            <g key={key}>
              <text class="plot-text plot-row" x={LEFT - 12} y={y + 5} text-anchor="end">
                {name.length > 36 ? `${name.slice(0, 35)}…` : name}
              </text>
              <path
                class="plot-line plot-whisker"
                d={`M${x(low)} ${y}H${x(top)}M${x(low)} ${y - 5}v10M${x(top)} ${y - 5}v10`}
              />
              <Mark
                x={x(rate.per_1000)}
                y={y}
                shape={shape}
                told={`${name}: ${rate.events} among ${rate.procedures}`}
              />
            </g>
          );
        })}
      </svg>
    </div>
  );
}
