import type { AdjustedRow, AdviceRow } from "../../types.gen";
import { closenessWords } from "../words";
import { Figure, Table } from "./Figure";
import { count, digitsFor, interval, percent, signed, signedInterval, significant } from "./figures";
import { Intervals } from "./IntervalPlot";

const wordsOf = (words: string): string => (words === "unsaid" ? "nothing said" : closenessWords(words));

/** What was said before, against what was needed after: as a share with its interval, per optic and words. */
export function Advice({ rows, optic }: { rows: AdviceRow[]; optic: (id: string) => string }) {
  const shown = rows.flatMap((row) =>
    row.more
      ? [
          {
            key: `${row.optic} ${row.words}`,
            name: `${optic(row.optic)}: ${wordsOf(row.words)}`,
            rate: row.more,
            shape: SHAPES[row.words] ?? ("ring" as const),
          },
        ]
      : [],
  );
  return (
    <Figure
      title="Words shown, and what was needed"
      none={rows.length === 0 ? "No pose as found is on record in this period." : undefined}
      about={
        <>
          <p>
            How often the face had to be turned further than advised, by the words that had been shown: dots
            after “likely clear”, triangles after “close”, squares after “expect to adjust”, rings where
            nothing was said. Words that tell something give shares that rise in that order.
          </p>
          <p>
            <strong>
              Advice taken unchanged is no evidence that it was right, and touches alone are too rare, and too
              often avoided by turning first, to judge it by.
            </strong>{" "}
            So neither a high share “as advised” nor a low share of touches says that the advice is good.
          </p>
        </>
      }
      table={
        rows.length > 0 && (
          <Table
            caption="Words shown against what was found"
            heads={[
              "Optic",
              "Words shown",
              "Poses",
              "More needed",
              "95 % exact",
              "Less",
              "As advised",
              "Not reached",
              "Touched",
              "Touched per 1,000, 95 % exact",
            ]}
            rows={rows.map((row) => [
              optic(row.optic),
              wordsOf(row.words),
              count(row.poses),
              `${count(row.asked_more)} (${row.more ? percent(row.more.per_1000 / 1000) : "–"})`,
              row.more ? `${interval(perCent(row.more.exact95), digitsFor(row.asked_more))} %` : "–",
              count(row.asked_less),
              count(row.as_advised),
              count(row.not_reached),
              count(row.touched),
              row.touch
                ? `${row.touched === 0 ? "none seen" : significant(row.touch.per_1000, digitsFor(row.touched))} (${interval(row.touch.exact95, digitsFor(row.touched))})`
                : "–",
            ])}
          />
        )
      }
    >
      {shown.length > 0 && (
        <Intervals
          rows={shown}
          said="Share of poses in which more turn was needed, by optic and words; the figures stand in the table."
          axis="more turn was needed, per 1,000 poses, with 95 % exact interval"
        />
      )}
    </Figure>
  );
}

const SHAPES: Record<string, "dot" | "triangle" | "square"> = {
  likely_clear: "dot",
  close: "triangle",
  expect_to_adjust: "square",
};

const perCent = ([low, high]: [number, number]): [number, number] => [low / 10, high / 10];

/** By how much it was off, where somebody said so. */
export function Adjusted({ rows, optic }: { rows: AdjustedRow[]; optic: (id: string) => string }) {
  return (
    <Figure
      title="By how much the advice was off"
      none={rows.length === 0 ? "Nobody said by how many degrees in this period." : undefined}
      about={
        <p>
          Degrees more (+) or fewer (−) than advised, from the poses where somebody said how many. The mean is
          of those alone, so it is larger than the advice is off on the whole; it corrects nothing by itself.
          An interval that leaves 0 out is a reason to look at the face tables of that optic.
        </p>
      }
    >
      {rows.length > 0 && (
        <Table
          caption="Degrees off"
          heads={["Optic", "Said", "Mean", "95 % (Student's t)", "How often which"]}
          rows={rows.map((row) => [
            optic(row.optic),
            count(row.said),
            `${signed(row.mean_deg, 2)}°`,
            row.mean95 ? `${signedInterval(row.mean95, 2)}°` : "too few, or all the same",
            row.counts
              .map(([degrees, n]) => `${degrees < 0 ? "−" : "+"}${Math.abs(degrees)}°: ${n}`)
              .join(", "),
          ])}
        />
      )}
    </Figure>
  );
}
