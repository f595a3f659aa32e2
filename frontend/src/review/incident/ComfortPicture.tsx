import type { Timeline } from "../../types.gen";
import { Fold } from "../../ui";
import { namesFrom, packOf } from "../names";
import { clock } from "../when";
import { type ComfortCurve, comfortCurve } from "./comfort";

const WIDE = 480;
const HIGH = 150;
const LEFT = 34;
const RIGHT = 10;
const TOP = 12;
const BOTTOM = 26;
const WORST = 10;

/** Small, in one ink, with its table: a line of scores, and diamonds where something happened. */
export function ComfortPicture({ timeline }: { timeline: Timeline }) {
  const curve = comfortCurve(timeline);
  if (curve.points.length === 0) return null;
  const names = namesFrom(packOf(timeline.entries.find((entry) => entry.pack)?.pack ?? null));
  return (
    <figure class="desk-comfort">
      <figcaption>
        <strong>Comfort, 0 comfortable to 10 as bad as can be</strong>, by minutes since the case began.
        {curve.marks.length > 0 && " Diamonds: a safety event or a reaction."}
      </figcaption>
      <Picture curve={curve} />
      <Fold word="The same as a table">
        <table class="desk-beside">
          <caption class="only-heard">Comfort as it was said</caption>
          <thead>
            <tr>
              <th scope="col">Time</th>
              <th scope="col">Minutes</th>
              <th scope="col">Comfort</th>
              <th scope="col">Bothered by</th>
            </tr>
          </thead>
          <tbody>
            {curve.points.map((point) => (
              <tr key={point.line}>
                <td class="number">{clock(point.at)}</td>
                <td class="number">{Math.round(point.minutes)}</td>
                <td class="number">{point.score}</td>
                <td>{names.choices("bothers", point.bothers) || "nothing named"}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Fold>
    </figure>
  );
}

function Picture({ curve }: { curve: ComfortCurve }) {
  const x = (minutes: number) => LEFT + ((WIDE - LEFT - RIGHT) * minutes) / curve.span;
  const y = (score: number) => HIGH - BOTTOM - ((HIGH - TOP - BOTTOM) * score) / WORST;
  const said = curve.points.map((p) => `${p.score} at ${Math.round(p.minutes)} min`).join(", ");
  return (
    <svg class="desk-curve" viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label={`Comfort: ${said}`}>
      {[0, 5, 10].map((score) => (
        <g key={score}>
          <line class="desk-curve-grid" x1={LEFT} x2={WIDE - RIGHT} y1={y(score)} y2={y(score)} />
          <text class="desk-curve-text" x={LEFT - 8} y={y(score) + 4} text-anchor="end">
            {score}
          </text>
        </g>
      ))}
      {[0, curve.span].map((minutes) => (
        <text
          key={minutes}
          class="desk-curve-text"
          x={x(minutes)}
          y={HIGH - 8}
          text-anchor={minutes === 0 ? "start" : "end"}
        >
          {Math.round(minutes)} min
        </text>
      ))}
      {curve.marks.map((mark) => (
        <g key={mark.line}>
          <line
            class="desk-curve-mark"
            x1={x(mark.minutes)}
            x2={x(mark.minutes)}
            y1={TOP}
            y2={HIGH - BOTTOM}
          />
          <path class="desk-curve-diamond" d={`M${x(mark.minutes)} ${TOP - 7}l6 7-6 7-6-7Z`} />
        </g>
      ))}
      <polyline
        class="desk-curve-line"
        points={curve.points.map((p) => `${x(p.minutes)},${y(p.score)}`).join(" ")}
      />
      {curve.points.map((p) => (
        <circle key={p.line} class="desk-curve-dot" cx={x(p.minutes)} cy={y(p.score)} r="4.500" />
      ))}
    </svg>
  );
}
