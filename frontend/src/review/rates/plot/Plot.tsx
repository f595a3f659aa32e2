import type { ScaleContinuousNumeric } from "d3-scale";
import type { ComponentChildren } from "preact";

export type Scale = ScaleContinuousNumeric<number, number>;

export interface Tick {
  at: number;
  text: string;
}

export const WIDE = 880;
export const HIGH = 380;
/** Right: room for two names of levels that fall together, such as "centre, median". */
export const EDGE = { left: 64, right: 136, top: 16, bottom: 52 };
export const INNER_X: [number, number] = [EDGE.left, WIDE - EDGE.right];
export const INNER_Y: [number, number] = [HIGH - EDGE.bottom, EDGE.top];

/** The ground of a picture: axes with their names, and one sentence for whoever can't see it. Colours, dashes and
 * widths are the style sheet's, so that the picture follows the theme, and turns to ink on paper. */
export function Plot({
  said,
  x,
  y,
  xTicks,
  yTicks,
  xName,
  yName,
  children,
}: {
  said: string;
  x: Scale;
  y: Scale;
  xTicks: Tick[];
  yTicks: Tick[];
  xName: string;
  yName: string;
  children: ComponentChildren;
}) {
  const [left, right] = INNER_X;
  const [bottom, top] = INNER_Y;
  return (
    <div class="plot-room">
      <svg class="plot" viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label={said}>
        {yTicks.map((tick) => (
          <g key={tick.at}>
            <line class="plot-grid" x1={left} x2={right} y1={y(tick.at)} y2={y(tick.at)} />
            <text class="plot-text" x={left - 8} y={y(tick.at) + 5} text-anchor="end">
              {tick.text}
            </text>
          </g>
        ))}
        {xTicks.map((tick) => (
          <g key={tick.at}>
            <line class="plot-tick" x1={x(tick.at)} x2={x(tick.at)} y1={bottom} y2={bottom + 5} />
            <text class="plot-text" x={x(tick.at)} y={bottom + 21} text-anchor="middle">
              {tick.text}
            </text>
          </g>
        ))}
        <path class="plot-axis" d={`M${left} ${top}V${bottom}H${right}`} />
        <text class="plot-name" x={(left + right) / 2} y={HIGH - 8} text-anchor="middle">
          {xName}
        </text>
        <text
          class="plot-name"
          transform={`translate(16 ${(top + bottom) / 2}) rotate(-90)`}
          text-anchor="middle"
        >
          {yName}
        </text>
        {children}
      </svg>
    </div>
  );
}
