import { useState } from "preact/hooks";
import type { Cusum } from "../../types.gen";
import { Button, TextField } from "../../ui";
import { type ChartView, THRESHOLD } from "./address";
import { Figure, Table } from "./Figure";
import { asPerThousand, count, significant } from "./figures";
import { Level, Mark, Path } from "./plot/marks";
import { Plot } from "./plot/Plot";
import { across, ticks, upward } from "./plot/scales";

const NUMBER = /^\d+([.,]\d+)?$/;
const number = (text: string): string => text.trim().replace(",", ".");

/** The running sum. Its rates are fixed before looking, so they are asked for before anything is drawn. */
export function CusumChart({
  cusum,
  none,
  view,
  set,
}: {
  cusum: Cusum | null;
  none: string | undefined;
  view: ChartView;
  set: (change: Partial<ChartView>) => void;
}) {
  return (
    <Figure
      title="Running sum (CUSUM)"
      none={none}
      about={
        <>
          <p>
            The sum over every procedure in order of how much likelier what happened is at the rate to be told
            apart than at the accepted rate (log likelihood; every patient taken as having one risk). It rises
            when events come more often than is accepted, and speaks up at the threshold; then it starts again
            at 0.
          </p>
          {cusum && (
            <p>
              Accepted: {asPerThousand(cusum.plan.rate_in)} per 1,000. To be told apart:{" "}
              {asPerThousand(cusum.plan.rate_out)} per 1,000. Threshold {significant(cusum.plan.threshold, 2)}
              . With these, a false alarm comes on average every {count(Math.round(cusum.plan.arl_in))}{" "}
              procedures while the accepted rate holds, and a true one after{" "}
              {count(Math.round(cusum.plan.arl_out))} at the other.
            </p>
          )}
          <Form key={`${view.rateIn} ${view.rateOut} ${view.threshold}`} view={view} set={set} />
        </>
      }
      table={
        cusum && (
          <Table
            caption="Signals of the running sum"
            heads={["Signal", "At procedure", "Of"]}
            rows={
              cusum.signals.length > 0
                ? cusum.signals.map((at, place) => [count(place + 1), count(at), count(cusum.procedures)])
                : [["none", "–", count(cusum.procedures)]]
            }
          />
        )
      }
    >
      {cusum && <Picture cusum={cusum} />}
    </Figure>
  );
}

function Form({ view, set }: { view: ChartView; set: (change: Partial<ChartView>) => void }) {
  const [rateIn, setIn] = useState(view.rateIn);
  const [rateOut, setOut] = useState(view.rateOut);
  const [threshold, setThreshold] = useState(view.threshold);
  const [tried, setTried] = useState(false);
  const wrong = (text: string) =>
    tried && !NUMBER.test(text.trim()) ? "Give a number, such as 11.5" : undefined;
  const draw = (event: Event) => {
    event.preventDefault();
    setTried(true);
    if (![rateIn, rateOut, threshold].every((text) => NUMBER.test(text.trim()))) return;
    set({ rateIn: number(rateIn), rateOut: number(rateOut), threshold: number(threshold) || THRESHOLD });
  };
  return (
    <form class="desk-filters rates-plan" aria-label="Rates of the running sum" onSubmit={draw}>
      <TextField
        label="Accepted, per 1,000"
        value={rateIn}
        onText={setIn}
        inputMode="decimal"
        error={wrong(rateIn)}
      />
      <TextField
        label="To be told apart, per 1,000"
        value={rateOut}
        onText={setOut}
        inputMode="decimal"
        error={wrong(rateOut)}
      />
      <TextField
        label="Threshold"
        value={threshold}
        onText={setThreshold}
        inputMode="decimal"
        error={wrong(threshold)}
      />
      <Button type="submit">Draw the running sum</Button>
    </form>
  );
}

function Picture({ cusum }: { cusum: Cusum }) {
  const { threshold } = cusum.plan;
  const x = across(0, cusum.procedures);
  const y = upward(Math.max(threshold, ...cusum.points.map(([, sum]) => sum)));
  return (
    <Plot
      said={`Running sum over ${cusum.procedures} procedures; it reached the threshold ${cusum.signals.length} times.`}
      x={x}
      y={y}
      xTicks={ticks(x, 8)}
      yTicks={ticks(y, 5)}
      xName="Procedure, in the order of opening"
      yName="Sum of log likelihood"
    >
      <Level at={threshold} y={y} kind="limit" name="threshold" />
      <Path points={cusum.points} x={x} y={y} kind="data" />
      {cusum.signals.map((at) => (
        <Mark
          key={at}
          x={x(at)}
          y={y(threshold)}
          shape="triangle"
          told={`Threshold reached at procedure ${at}`}
        />
      ))}
    </Plot>
  );
}
