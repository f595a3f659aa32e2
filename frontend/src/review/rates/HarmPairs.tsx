import type { RateReport } from "../../types.gen";
import { HARMS, sentence } from "../words";
import { Table } from "./Figure";
import { count } from "./figures";
import { deskHarmWords } from "./keys";

/** The reporter's degree of harm against the desk's: where the two differ, and what is not judged yet. */
export function HarmPairs({ report }: { report: RateReport }) {
  const pairs = report.harm_pairs ?? [];
  if (pairs.length === 0) return null;
  const reported = [...HARMS, ""].filter((harm) => pairs.some((pair) => pair.reported === harm));
  const judged = [...HARMS, "left_open", "unjudged"].filter((harm) =>
    pairs.some((pair) => pair.judged === harm),
  );
  const events = (row: string, column: string) =>
    pairs.find((pair) => pair.reported === row && pair.judged === column)?.events ?? 0;
  return (
    <section class="desk-part rates-part" aria-label="As reported, against as judged">
      <h2>As reported, against as judged</h2>
      <p class="rates-prose">
        The same events, counted by the reporter's degree of harm (rows) and by the desk's (columns). Neither
        stands for the other.
      </p>
      <Table
        caption="Harm as reported against harm as the desk judged it"
        heads={["As reported", ...judged.map(deskHarmWords)]}
        rows={reported.map((row) => [
          row ? sentence(row) : "Not said",
          ...judged.map((column) => count(events(row, column))),
        ])}
      />
    </section>
  );
}
