import { useMemo, useState } from "preact/hooks";
import type { CraftReport } from "../../types.gen";
import { useAsked } from "../asked";
import { usePackForNames } from "../newest";
import { CopyLink } from "../parts/Copy";
import { News } from "../parts/News";
import { Empty, Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { sentence } from "../words";
import { Adjusted, Advice } from "./Advice";
import { type Period, periodFrom, periodParams } from "./address";
import { CalibrationPart } from "./Calibration";
import { Comfort } from "./Comfort";
import { Figure, Table } from "./Figure";
import { count, interval, percent } from "./figures";
import { Filters, Tabs } from "./Head";
import { Known } from "./Known";
import { periodPhrase } from "./RatesPage";

const STAGES: Record<string, string> = {
  prepare: "Opening the case to the first optic",
  position: "The first optic to the first dye",
  series: "The first dye to the last frame",
  finish: "The last frame to closing",
};

/** How it felt, how the advice fared, and where the time went. */
export function CraftPage({ params }: { params: URLSearchParams }) {
  const query = params.toString();
  const period = useMemo(() => periodFrom(new URLSearchParams(query)), [query]);
  const asked = useAsked<CraftReport>(`/api/craft?${periodParams(period)}`);
  const { answer, value: report, again } = asked;
  const [round, setRound] = useState(0);
  const allAgain = () => {
    again();
    setRound((n) => n + 1);
  };
  const names = usePackForNames();
  const set = (change: Partial<Period>) => {
    location.hash = hrefOf("craft", null, periodParams({ ...period, ...change }));
  };
  const optic = (id: string) => (id ? names.optic(id) : "before the first optic");
  return (
    <div class="stack">
      <Tabs page="craft" period={period} />
      <h1>Comfort and craft</h1>
      <Filters period={period} names={names} onPeriod={set} />
      <Waiting
        answer={answer ?? (report ? { state: "ready", value: report } : null)}
        what="the craft"
        again={again}
      />
      {report && report.visits === 0 && (
        <Empty title="No case of this period counts">Choose another period.</Empty>
      )}
      {report && report.visits > 0 && (
        <>
          <p class="rates-definition">
            From {count(report.visits)} cases. {periodPhrase(report, names.site)}
          </p>
          <div class="rates-out">
            <CopyLink />
          </div>
          <Comfort report={report} optic={optic} />
          <Advice rows={report.advice} optic={optic} />
          <Adjusted rows={report.adjusted} optic={optic} />
          <CalibrationPart period={period} from={round} />
          <Figure
            title="Windows of the series kept"
            none={report.windows.length === 0 ? "No timed series of this period is on record." : undefined}
            about={
              <p>
                Of the cases that followed a layout with the window: in how many every frame of it was taken
                within it, by the phone's clock of the dye.
                {report.windows_unread > 0 &&
                  ` ${report.windows_unread} more followed a pack that is not here, so their windows are not known.`}
              </p>
            }
          >
            {report.windows.length > 0 && (
              <Table
                caption="Windows kept"
                heads={[
                  "Protocol",
                  "Window",
                  "Cases",
                  "Kept",
                  "95 % exact, in %",
                  "Late",
                  "Early",
                  "Missed",
                  "Series stopped first",
                  "Time not known",
                ]}
                rows={report.windows.map((row) => [
                  names.protocol(row.protocol),
                  names.window(row.protocol, row.window),
                  count(row.cases),
                  `${count(row.kept)} (${percent(row.kept / row.cases)})`,
                  interval([row.rate.exact95[0] / 10, row.rate.exact95[1] / 10], 2),
                  count(row.late),
                  count(row.early),
                  count(row.missed),
                  count(row.stopped),
                  count(row.untimed),
                ])}
              />
            )}
          </Figure>
          <Figure
            title="Frames taken again, and why"
            about={<p>Frames that were judged not good enough and taken again, by the reason given.</p>}
          >
            <Counted
              caption="Frames taken again"
              heads={["Reason", "Optic", "Frames"]}
              rows={report.again.map((row) => [
                sentence(names.choice("frame_again", row.key)),
                optic(row.sub),
                count(row.n),
              ])}
            />
          </Figure>
          <Figure
            title="Steps not done, and why"
            about={
              <p>
                A step that is often left out for one reason may not belong there, or may need time that there
                is not.
              </p>
            }
          >
            <Counted
              caption="Steps not done"
              heads={["Step", "Reason", "Times", "Of cases"]}
              rows={report.skipped.map((row) => [
                names.step(row.key),
                names.choice("skip_reasons", row.sub),
                count(row.n),
                percent(row.n / report.visits),
              ])}
            />
          </Figure>
          <Figure
            title="Time on each stage"
            about={
              <p>Whole minutes between two lines of the log, by the clock of the device that wrote both.</p>
            }
          >
            <Counted
              caption="Minutes on each stage"
              heads={[
                "Stage",
                "Cases",
                "A quarter took at most",
                "Half at most",
                "Three quarters at most",
                "Longest",
              ]}
              rows={report.stages.map((row) => [
                STAGES[row.stage] ?? row.stage,
                count(row.cases),
                ...row.quartiles.map((minutes) => `${minutes} min`),
                row.longest >= 240 ? "4 h or more" : `${row.longest} min`,
              ])}
            />
          </Figure>
          <Known rules={report.rules} position={report.position} asOf={asked.asOf} site={names.site} />
        </>
      )}
      <News of={{ answer, again: allAgain }} kinds={["lines", "reviews"]} />
    </div>
  );
}

const SHOWN = 20;

function Counted({ caption, heads, rows }: { caption: string; heads: string[]; rows: string[][] }) {
  if (rows.length === 0) return <p class="quiet">None is on record.</p>;
  return (
    <>
      <Table caption={caption} heads={heads} rows={rows.slice(0, SHOWN)} />
      {rows.length > SHOWN && (
        <p class="quiet t-small">
          The {SHOWN} most frequent of {rows.length}.
        </p>
      )}
    </>
  );
}
