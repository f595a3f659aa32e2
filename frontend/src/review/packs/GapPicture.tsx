import { scaleLinear } from "d3-scale";
import type { ClassFit, NeckClass } from "../../types.gen";
import { Mark } from "../rates/plot/marks";
import { ticks } from "../rates/plot/scales";
import { faceName, figure } from "./fits";

const WIDE = 880;
const LEFT = 240;
const RIGHT = 24;
const TOP = 28;
const ROW = 28;

/** Each kind of face on a line: the gap on the nominal face and on the second one, against nothing and the margin. */
export function GapPicture({
  rows,
  name,
  neck,
  margin_mm,
}: {
  rows: ClassFit[];
  name: string;
  neck: NeckClass;
  margin_mm: number;
}) {
  const gaps = rows
    .flatMap((row) => [row.clearance_mm, row.forward_clearance_mm])
    .filter((gap): gap is number => gap !== null);
  if (gaps.length === 0) return null;
  const x = scaleLinear()
    .domain([Math.min(-1, ...gaps), Math.max(margin_mm + 1, ...gaps)])
    .range([LEFT, WIDE - RIGHT])
    .nice(8);
  const right = x(margin_mm) > WIDE - 140; // beyond it the word would be cut off
  const bottom = TOP + rows.length * ROW;
  const touching = rows.filter(
    (row) => row.forward_clearance_mm !== null && row.forward_clearance_mm < 0,
  ).length;
  const said =
    `Gap of ${name} by kind of face, neck ${neck}: the margin is ${margin_mm} mm. On the second face ` +
    `${touching} of ${rows.length} would touch at the turn for the first. The figures stand in the table.`;
  return (
    <figure class="rates-figure">
      <figcaption>
        <strong>The gap against the margin.</strong> Dots: the nominal face; hollow diamonds: the second face
        at the same turn, whose middle stands farther forward. Left of 0 it would touch.
      </figcaption>
      <div class="plot-room">
        <svg class="plot plot-rows" viewBox={`0 0 ${WIDE} ${bottom + 46}`} role="img" aria-label={said}>
          <rect
            class="packs-touching"
            x={LEFT}
            y={TOP}
            width={Math.max(0, x(0) - LEFT)}
            height={bottom - TOP}
          />
          {ticks(x, 8).map((tick) => (
            <g key={tick.at}>
              <line class="plot-grid" x1={x(tick.at)} x2={x(tick.at)} y1={TOP} y2={bottom} />
              <text class="plot-text" x={x(tick.at)} y={bottom + 18} text-anchor="middle">
                {tick.text}
              </text>
            </g>
          ))}
          <line class="packs-edge" x1={x(0)} x2={x(0)} y1={TOP} y2={bottom} />
          <text class="plot-text" x={x(0) - 6} y={TOP - 8} text-anchor="end">
            touches
          </text>
          <line class="packs-margin" x1={x(margin_mm)} x2={x(margin_mm)} y1={TOP} y2={bottom} />
          <text
            class="plot-text"
            x={x(margin_mm) + (right ? -6 : 6)}
            y={TOP - 8}
            text-anchor={right ? "end" : "start"}
          >
            margin {margin_mm} mm
          </text>
          <text class="plot-name" x={(LEFT + WIDE - RIGHT) / 2} y={bottom + 40} text-anchor="middle">
            gap, mm
          </text>
          {rows.map((row, place) => {
            const y = TOP + place * ROW + ROW / 2;
            const { clearance_mm: near, forward_clearance_mm: far } = row;
            return (
              <g key={faceName(row)}>
                <text class="plot-text plot-row" x={LEFT - 12} y={y + 5} text-anchor="end">
                  {faceName(row)}
                </text>
                {near === null || far === null ? (
                  <text class="plot-text" x={LEFT + 8} y={y + 5}>
                    no turn
                  </text>
                ) : (
                  <>
                    <path class="plot-line plot-whisker" d={`M${x(far)} ${y}H${x(near)}`} />
                    <Mark x={x(far)} y={y} shape="diamond" told={`second face: ${figure(far, " mm")}`} />
                    <Mark x={x(near)} y={y} shape="dot" told={`nominal face: ${figure(near, " mm")}`} />
                  </>
                )}
              </g>
            );
          })}
        </svg>
      </div>
    </figure>
  );
}
