import {
  curveLinear,
  curveStepAfter,
  line,
  symbol,
  symbolCircle,
  symbolDiamond,
  symbolSquare,
  symbolTriangle,
} from "d3-shape";
import { EDGE, INNER_X, type Scale, WIDE } from "./Plot";

export type Shape = "dot" | "ring" | "triangle" | "square" | "diamond";

const SYMBOLS = {
  dot: symbolCircle,
  ring: symbolCircle,
  triangle: symbolTriangle,
  square: symbolSquare,
  diamond: symbolDiamond,
};

/** A point; what it means is told by its shape as well as by its colour. `told` comes up under the pointer. */
export function Mark({
  x,
  y,
  shape,
  told,
  small,
}: {
  x: number;
  y: number;
  shape: Shape;
  told?: string;
  small?: boolean;
}) {
  const size = (small ? 28 : 64) * (shape === "dot" || shape === "ring" ? 1 : 1.4);
  const path = symbol(SYMBOLS[shape], size)() ?? "";
  return (
    <path class={`plot-mark plot-${shape}`} transform={`translate(${x} ${y})`} d={path}>
      {told && <title>{told}</title>}
    </path>
  );
}

/** A line through points in the data's own measures; steps hold each value until the next. */
export function Path({
  points,
  x,
  y,
  kind,
  steps,
}: {
  points: readonly [number, number][];
  x: Scale;
  y: Scale;
  kind: string;
  steps?: boolean;
}) {
  const draw = line<[number, number]>()
    .x(([at]) => x(at))
    .y(([, value]) => y(value))
    .curve(steps ? curveStepAfter : curveLinear);
  return <path class={`plot-line plot-${kind}`} d={draw([...points]) ?? ""} />;
}

/** A level across the picture, named at its right end. */
export function Level({ at, y, kind, name }: { at: number; y: Scale; kind: string; name: string }) {
  const [left, right] = INNER_X;
  return (
    <g>
      <line class={`plot-line plot-${kind}`} x1={left} x2={right} y1={y(at)} y2={y(at)} />
      <EndName y={y(at)} name={name} />
    </g>
  );
}

/** What a line is, beside its right end. */
export function EndName({ y, name }: { y: number; name: string }) {
  return (
    <text class="plot-text" x={WIDE - EDGE.right + 6} y={y + 5}>
      {name}
    </text>
  );
}
