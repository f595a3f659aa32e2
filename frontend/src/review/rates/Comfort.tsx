import { scaleLinear } from "d3-scale";
import type { CraftReport, ScoreRow } from "../../types.gen";
import { sentence } from "../words";
import { Figure, Table } from "./Figure";
import { count, significant } from "./figures";
import { Mark } from "./plot/marks";

const TURNS: Record<string, string> = {
  "0_5": "below 5°",
  "5_10": "5 to 10°",
  "10_15": "10 to 15°",
  "15_20": "15 to 20°",
  "20": "20° and more",
};
const MINUTES: Record<string, string> = {
  "0_15": "first 15 min",
  "15_30": "15 to 30 min",
  "30_60": "30 to 60 min",
  "60": "after an hour",
};

export function Comfort({ report, optic }: { report: CraftReport; optic: (id: string) => string }) {
  const parts: [string, ScoreRow[], (key: string) => string][] = [
    ["Optic", report.comfort, optic],
    ["Turn of the face", report.by_turn, (key) => TURNS[key] ?? key],
    ["Depth of the eyes", report.by_depth, (key) => (key === "measured" ? "measured in mm" : sentence(key))],
    ["Since the case was opened", report.by_minutes, (key) => MINUTES[key] ?? key],
  ];
  const filled = parts.filter(([, rows]) => rows.length > 0);
  const rows = filled.flatMap(([heading, scores, name]) =>
    scores.map((row, place) => ({ heading: place === 0 ? heading : "", name: name(row.key), row })),
  );
  return (
    <Figure
      title="Comfort"
      none={rows.length === 0 ? "No comfort score was noted in this period." : undefined}
      about={
        <p>
          Scores from 0, comfortable, to 10, as bad as can be. The bar spans the middle half of the scores,
          the mark is the one in the middle, and each tick is as tall as its score is frequent.
        </p>
      }
      table={
        rows.length > 0 && (
          <Table
            caption="Comfort scores"
            heads={[
              "By",
              "Which",
              "Scores",
              "A quarter at most",
              "Half at most",
              "Three quarters at most",
              "Mean",
            ]}
            rows={filled.flatMap(([heading, scores, name]) =>
              scores.map((row) => [
                heading,
                name(row.key),
                count(row.noted),
                ...row.quartiles.map(String),
                significant(row.mean, 2),
              ]),
            )}
          />
        )
      }
    >
      {rows.length > 0 && <Picture rows={rows} />}
    </Figure>
  );
}

const WIDE = 880;
const LEFT = 330;
const RIGHT = 140;
const ROW = 36;
const WORST = 10;

function Picture({ rows }: { rows: { heading: string; name: string; row: ScoreRow }[] }) {
  const x = scaleLinear()
    .domain([-0.5, WORST + 0.5])
    .range([LEFT, WIDE - RIGHT]);
  const high = rows.length * ROW + 40;
  const bottom = rows.length * ROW + 6;
  const said = rows.map(({ name, row }) => `${name} ${row.quartiles[1]}`).join(", ");
  return (
    <div class="plot-room">
      <svg
        class="plot"
        viewBox={`0 0 ${WIDE} ${high}`}
        role="img"
        aria-label={`Score in the middle: ${said}`}
      >
        {Array.from({ length: WORST + 1 }, (_, score) => score).map((score) => (
          <text key={score} class="plot-text" x={x(score)} y={bottom + 20} text-anchor="middle">
            {score}
          </text>
        ))}
        <path class="plot-axis" d={`M${LEFT} ${bottom}H${WIDE - RIGHT}`} />
        {rows.map(({ heading, name, row }, place) => {
          const y = place * ROW + ROW - 8;
          const most = Math.max(...row.counts);
          const [low, middle, top] = row.quartiles;
          return (
            <g key={`${name} ${heading} ${row.key}`}>
              {heading && place > 0 && (
                <line class="plot-grid" x1={0} x2={WIDE} y1={y - ROW + 7} y2={y - ROW + 7} />
              )}
              <text class="plot-name" x={0} y={y}>
                {heading}
              </text>
              <text class="plot-text" x={LEFT - 16} y={y} text-anchor="end">
                {name}
              </text>
              {row.counts.map((n, score) =>
                n > 0 ? (
                  <line
                    key={score}
                    class="plot-stem"
                    x1={x(score)}
                    x2={x(score)}
                    y1={y - 4}
                    y2={y - 4 - (n / most) * 20}
                  />
                ) : null,
              )}
              <line class="plot-half" x1={x(low) - 6} x2={x(top) + 6} y1={y} y2={y} />
              <Mark
                x={x(middle)}
                y={y}
                shape="diamond"
                told={`${name}: half at ${middle} or below, of ${row.noted}`}
              />
              <text class="plot-text" x={WIDE - RIGHT + 12} y={y}>
                {count(row.noted)} scores
              </text>
            </g>
          );
        })}
      </svg>
    </div>
  );
}
