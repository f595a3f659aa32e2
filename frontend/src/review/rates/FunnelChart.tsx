import type { Funnel, FunnelLimits, FunnelPoint } from "../../types.gen";
import { Figure, Table } from "./Figure";
import { asPerThousand, chance, count, digitsFor, percent, significant } from "./figures";
import { EndName, Mark, Path, type Shape } from "./plot/marks";
import { Plot } from "./plot/Plot";
import { across, endNames, ticks, upward } from "./plot/scales";

const ZONES: Record<FunnelPoint["zone"], { word: string; shape: Shape }> = {
  inside: { word: "within the 95 % limits", shape: "dot" },
  above_95: { word: "above the 95 % limit", shape: "triangle" },
  above_998: { word: "above the 99.8 % limit", shape: "square" },
  below_95: { word: "below the 95 % limit", shape: "diamond" },
  below_998: { word: "below the 99.8 % limit", shape: "diamond" },
};

type Bound = "low_998" | "low_95" | "high_95" | "high_998";
const LINES: { bound: Bound; kind: string; name: string }[] = [
  { bound: "high_998", kind: "far", name: "99.8 %" },
  { bound: "high_95", kind: "limit", name: "95 %" },
  { bound: "low_95", kind: "limit", name: "95 %" },
  { bound: "low_998", kind: "far", name: "99.8 %" },
];

export function FunnelChart({
  funnel,
  none,
  site,
  of,
}: {
  funnel: Funnel | null;
  none: string | undefined;
  of?: string;
  site: (id: string) => string;
}) {
  return (
    <Figure
      title="Across sites"
      of={of}
      none={none}
      about={
        <p>
          Each site by how much it did; the lines are how far chance alone takes a site from the rate of all
          together (exact binomial limits). Outside is a reason to look, not a verdict: sites differ in their
          patients, and in how readily they write things down. A league table is not drawn.
          {funnel && (
            <>
              {" "}
              With {funnel.sites.length} sites all alike, the chance that at least one lies outside the 95 %
              limits is {percent(funnel.false_flag)}.
            </>
          )}
        </p>
      }
      table={funnel && <FunnelTable funnel={funnel} site={site} />}
    >
      {funnel && (
        <>
          <Picture funnel={funnel} site={site} />
          <ol class="rates-key" aria-label="Sites by their number in the picture">
            {funnel.sites.map((one, place) => (
              <li key={one.site}>
                <strong class="number">{place + 1}</strong> {site(one.site)}, {ZONES[one.point.zone].word}
              </li>
            ))}
          </ol>
        </>
      )}
    </Figure>
  );
}

function Picture({ funnel, site }: { funnel: Funnel; site: (id: string) => string }) {
  const most = Math.max(...funnel.curve.map(({ procedures }) => procedures));
  const highest = Math.max(...funnel.sites.map(({ point }) => point.rate)) * 1000;
  // the limits of very few procedures reach to the ceiling and would press all that matters to the floor
  const ceiling = Math.max(highest, funnel.target * 1000 * 3) * 1.15;
  const x = across(0, most);
  const y = upward(ceiling);
  const top = y.domain()[1] ?? ceiling;
  const shown = (bound: Bound) =>
    funnel.curve
      .filter((limits) => limits[bound] * 1000 <= top && onItsSide(bound, limits, funnel.target))
      .map((limits): [number, number] => [limits.procedures, limits[bound] * 1000]);
  const ends = funnel.curve.at(-1) as FunnelLimits;
  const names = endNames(
    [
      ...LINES.map(({ bound, name }) => ({ at: y(ends[bound] * 1000), name })),
      { at: y(funnel.target * 1000), name: "all together" },
    ],
    16,
  );
  return (
    <Plot
      said={`Rates of ${funnel.sites.length} sites by procedures with their limits: ${funnel.sites
        .map((one) => `${site(one.site)} ${ZONES[one.point.zone].word}`)
        .join(", ")}.`}
      x={x}
      y={y}
      xTicks={ticks(x, 8)}
      yTicks={ticks(y, 5)}
      xName="Procedures"
      yName="Events per 1,000"
    >
      {LINES.map(({ bound, kind }) => (
        <Path key={bound} points={shown(bound)} x={x} y={y} kind={kind} />
      ))}
      <Path
        points={[
          [0, funnel.target * 1000],
          [most, funnel.target * 1000],
        ]}
        x={x}
        y={y}
        kind="centre"
      />
      {names.map(({ at, name }) => (
        <EndName key={`${at} ${name}`} y={at} name={name} />
      ))}
      {funnel.sites.map((one, place) => (
        <Mark
          key={one.site}
          x={x(one.point.limits.procedures)}
          y={y(one.point.rate * 1000)}
          shape={ZONES[one.point.zone].shape}
          told={`${place + 1} ${site(one.site)}: ${one.point.events} among ${one.point.limits.procedures}, ${ZONES[one.point.zone].word}`}
        />
      ))}
      {numbered(
        funnel.sites.map(({ point }) => ({
          x: x(point.limits.procedures),
          y: y(point.rate * 1000),
        })),
      ).map((at, place) => (
        <text
          key={funnel.sites[place]?.site}
          class="plot-text plot-halo"
          x={at.x}
          y={at.y - 9}
          text-anchor="middle"
        >
          {place + 1}
        </text>
      ))}
    </Plot>
  );
}

/** Of very few procedures the interpolated limits can lie on the wrong side of the target: they are not drawn. */
const onItsSide = (bound: Bound, limits: FunnelLimits, target: number): boolean =>
  bound.startsWith("high") ? limits[bound] >= target : limits[bound] <= target;

/** Where the numbers of points stand: those of points on top of each other one above the other. */
function numbered(points: { x: number; y: number }[]): { x: number; y: number }[] {
  const placed: { x: number; y: number }[] = [];
  for (const point of points) {
    let { y } = point;
    while (placed.some((other) => Math.abs(other.x - point.x) < 20 && Math.abs(other.y - y) < 16)) y -= 16;
    placed.push({ x: point.x, y });
  }
  return placed;
}

function FunnelTable({ funnel, site }: { funnel: Funnel; site: (id: string) => string }) {
  return (
    <Table
      caption="Sites against the limits"
      heads={[
        "Site",
        "Events",
        "Procedures",
        "Per 1,000",
        "95 % limits",
        "99.8 % limits",
        "Where",
        "Chance of as far out",
      ]}
      rows={funnel.sites.map(({ site: id, point }) => [
        site(id),
        count(point.events),
        count(point.limits.procedures),
        significant(point.rate * 1000, digitsFor(point.events)),
        `${asPerThousand(point.limits.low_95)} to ${asPerThousand(point.limits.high_95)}`,
        `${asPerThousand(point.limits.low_998)} to ${asPerThousand(point.limits.high_998)}`,
        ZONES[point.zone].word,
        chance(point.tail),
      ])}
    />
  );
}
