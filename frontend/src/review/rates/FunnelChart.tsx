import type { Funnel, FunnelLimits, FunnelPoint } from "../../types.gen";
import { Figure, Table } from "./Figure";
import { asPerThousand, chance, count, digitsFor, percent, significant } from "./figures";
import { EndName, Mark, Path, type Shape } from "./plot/marks";
import { Plot } from "./plot/Plot";
import { across, apart, ticks, upward } from "./plot/scales";

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
}: {
  funnel: Funnel | null;
  none: string | undefined;
  site: (id: string) => string;
}) {
  return (
    <Figure
      title="Across sites"
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
      {funnel && <Picture funnel={funnel} site={site} />}
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
      .filter((limits) => limits[bound] * 1000 <= top)
      .map((limits): [number, number] => [limits.procedures, limits[bound] * 1000]);
  const ends = funnel.curve.at(-1) as FunnelLimits;
  const names = [...LINES.map(({ bound }) => y(ends[bound] * 1000)), y(funnel.target * 1000)];
  const places = apart(names, 16);
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
      {LINES.map(({ bound, kind, name }, place) => (
        <g key={bound}>
          <Path points={shown(bound)} x={x} y={y} kind={kind} />
          <EndName y={places[place] ?? 0} name={name} />
        </g>
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
      <EndName y={places[4] ?? 0} name="all together" />
      {funnel.sites.map((one) => {
        const at = x(one.point.limits.procedures);
        const word = site(one.site);
        return (
          <g key={one.site}>
            <Mark
              x={at}
              y={y(one.point.rate * 1000)}
              shape={ZONES[one.point.zone].shape}
              told={`${word}: ${one.point.events} among ${one.point.limits.procedures}, ${ZONES[one.point.zone].word}`}
            />
            <text
              class="plot-text plot-halo"
              x={at > 700 ? at - 10 : at + 10}
              y={y(one.point.rate * 1000) - 8}
              text-anchor={at > 700 ? "end" : "start"}
            >
              {word}
            </text>
          </g>
        );
      })}
    </Plot>
  );
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
