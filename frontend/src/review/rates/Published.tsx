import type { RateReport } from "../../types.gen";
import { Cell } from "../parts/Cell";
import { chance, count, digitsFor, interval, perThousand, signed, signedInterval } from "./figures";

/** Published series of the same dye. They differ in what was counted, so they are no target. */
export function Published({ report, name }: { report: RateReport; name: (key: string) => string }) {
  if (report.published.length === 0) return null;
  return (
    <section class="desk-part" aria-label="Other people's rates">
      <h2>Other people's rates, beside these</h2>
      <p class="rates-prose">
        Published series, not this service's. They differ by what was counted as a reaction, by who was asked,
        by dose and by choice of patients, by a factor of twenty: one is only fit to stand beside this rate
        where it counted the same thing in the same way. Ours is compared with those that counted any
        reaction: ours less theirs, and the chance of a difference at least as unlikely if both had one rate
        (Fisher's exact test, two-sided). Several comparisons are made here, so a small P comes up more easily
        by chance.
      </p>
      <table class="desk-table rates-table">
        <caption class="only-heard">Published rates with their own counts and intervals</caption>
        <thead>
          <tr>
            <th scope="col">Source</th>
            <th scope="col">Dye, route</th>
            <th scope="col">What they counted</th>
            <th scope="col">Events among</th>
            <th scope="col">Per 1,000, 95 % exact</th>
            <th scope="col">Ours less theirs, per 1,000</th>
            <th scope="col">P</th>
          </tr>
        </thead>
        <tbody>
          {report.published.map(({ published, rate, comparison, ours }) => {
            const digits = digitsFor(published.events);
            return (
              <tr key={published.id}>
                <Cell label="Source" head="row">
                  {published.source}
                </Cell>
                <Cell label="Dye, route">
                  {name(ours)}, {published.route}
                </Cell>
                <Cell label="What they counted">{published.counted}</Cell>
                <Cell label="Events among">
                  {count(published.events)} among {count(published.tests)}
                </Cell>
                <Cell label="Per 1,000, 95 % exact">
                  {perThousand(rate)} ({interval(rate.exact95, digits)})
                </Cell>
                <Cell label="Ours less theirs, per 1,000">
                  {comparison
                    ? `${signed(comparison.difference * 1000, 2)} (95 % ${signedInterval(thousandths(comparison.difference95), 2)})`
                    : "not compared: another thing was counted"}
                </Cell>
                <Cell label="P">{comparison ? chance(comparison.p_two_sided) : "–"}</Cell>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}

const thousandths = ([low, high]: [number, number]): [number, number] => [low * 1000, high * 1000];
