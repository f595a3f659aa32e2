import type { RateReport, RateRow } from "../../types.gen";
import { Cell } from "../parts/Cell";
import { sentence } from "../words";
import { SPLIT_WORDS } from "./address";
import { count, digitsFor, interval, perThousand, significant } from "./figures";

/** Every figure of a rate. Where there is too little to read one, it says so in words beside it. */
export function RateTable({ report, name }: { report: RateReport; name: (key: string) => string }) {
  const split = report.by !== "none";
  const heading = split ? sentence(SPLIT_WORDS[report.by]) : "Of";
  return (
    <table class="desk-table rates-table">
      <caption class="only-heard">{report.definition}</caption>
      <thead>
        <tr>
          <th scope="col">{heading}</th>
          <th scope="col" class="rates-number">
            Events
          </th>
          <th scope="col" class="rates-number">
            Among
          </th>
          <th scope="col" class="rates-number">
            Per 1,000
          </th>
          <th scope="col">95 % exact</th>
          <th scope="col">95 % Wilson</th>
          <th scope="col">95 % Poisson</th>
          <th scope="col">What to bear in mind</th>
        </tr>
      </thead>
      <tbody>
        {report.rows.map((row) => (
          <Row key={row.key} row={row} heading={heading} name={name(row.key)} />
        ))}
        <Row row={report.total} heading={heading} name={split ? "All together" : "All"} total={split} />
      </tbody>
    </table>
  );
}

function Row({
  row,
  heading,
  name,
  total,
}: {
  row: RateRow;
  heading: string;
  name: string;
  total?: boolean;
}) {
  const { rate } = row;
  const digits = digitsFor(row.events);
  return (
    <tr class={total ? "rates-total" : ""}>
      <Cell label={heading} head="row">
        {name}
      </Cell>
      <Cell label="Events">{count(row.events)}</Cell>
      <Cell label="Among">{count(row.procedures)}</Cell>
      <Cell label="Per 1,000">{rate ? perThousand(rate) : "no rate"}</Cell>
      <Cell label="95 % exact">{rate ? interval(rate.exact95, digits) : "–"}</Cell>
      <Cell label="95 % Wilson">{rate ? interval(rate.wilson95, digits) : "–"}</Cell>
      <Cell label="95 % Poisson">{rate ? interval(rate.poisson95, digits) : "–"}</Cell>
      <Cell label="What to bear in mind">
        <span class="rates-said">
          {row.none}
          {rate?.small_number.join(" ")}
          {rate && rate.rule_of_three !== null && rate.upper95_one_sided !== null && (
            <>
              {" "}
              With 95 % confidence at most {significant(rate.upper95_one_sided, 2)} per 1,000 (one-sided; rule
              of three: {significant(rate.rule_of_three, 2)}).
            </>
          )}
        </span>
      </Cell>
    </tr>
  );
}
