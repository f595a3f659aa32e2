import { scaleLinear } from "d3-scale";
import type { Band, Calibration, FaceReliability, Offset } from "../../types.gen";
import { useAsked } from "../asked";
import { Waiting } from "../parts/states";
import { type Period, periodParams } from "./address";
import { Figure, Table } from "./Figure";
import { count, interval, percent, signed } from "./figures";
import { Mark, Path } from "./plot/marks";
import { INNER_X, INNER_Y, Plot } from "./plot/Plot";

const FACES: Record<string, string> = { nominal: "the nominal face", forward: "the second face" };

/** Is the advice calibrated? Asked for by itself: for a new pack the model takes some seconds. `from`: asked for again
 * with each other one. */
export function CalibrationPart({ period, from }: { period: Period; from: number }) {
  const { answer, value, again } = useAsked<Calibration>(`/api/calibration?${periodParams(period)}`, from);
  return (
    <>
      <Waiting
        answer={answer ?? (value ? { state: "ready", value } : null)}
        what="the model's own figures (some seconds for a new pack)"
        again={again}
      />
      {value?.faces.map((face) => (
        <Reliability key={face.face} face={face} />
      ))}
      {value && <MidLine report={value} />}
    </>
  );
}

const share = (rate: { events: number; procedures: number }) => rate.events / rate.procedures;
const inPercent = ([low, high]: [number, number]): [number, number] => [low / 10, high / 10];

function Reliability({ face }: { face: FaceReliability }) {
  const name = FACES[face.face] ?? face.face;
  return (
    <Figure
      title={`Predicted and found: ${name}`}
      none={
        face.bands.length === 0 ? "No pose that could be held against the model is on record." : undefined
      }
      about={
        <p>
          If the model of {name} were right, what would have touched at the advised turn would lie on the
          broken line. What is known lies between the two marks: the dot is what touched, the ring what
          touched or was turned further first. A line that passes below or above every pair of marks speaks
          against this face. Chances are of anatomy alone. {face.summary}
        </p>
      }
      table={
        face.bands.length > 0 && (
          <Table
            caption={`Predicted chance of touching against what was found, ${name}`}
            heads={[
              "Predicted chance",
              "Mean",
              "Poses",
              "Touched",
              "95 % exact, in %",
              "Touched or turned further",
              "95 % exact of that, in %",
            ]}
            rows={face.bands.map((band) => [
              `${percent(band.from_chance)} to ${percent(band.to_chance)}`,
              percent(band.predicted),
              count(band.poses),
              `${count(band.touched.events)} (${percent(share(band.touched))})`,
              interval(inPercent(band.touched.exact95), 2),
              `${count(band.touched_or_more.events)} (${percent(share(band.touched_or_more))})`,
              interval(inPercent(band.touched_or_more.exact95), 2),
            ])}
          />
        )
      }
    >
      {face.bands.length > 0 && <Picture bands={face.bands} name={name} />}
    </Figure>
  );
}

const TENTHS = [0, 20, 40, 60, 80, 100].map((at) => ({ at, text: `${at} %` }));

function Picture({ bands, name }: { bands: Band[]; name: string }) {
  const x = scaleLinear().domain([0, 100]).range(INNER_X);
  const y = scaleLinear().domain([0, 100]).range(INNER_Y);
  const said = bands
    .map(
      (b) =>
        `predicted ${percent(b.predicted)}, found ${percent(share(b.touched))} to ${percent(share(b.touched_or_more))}`,
    )
    .join("; ");
  return (
    <Plot
      said={`${name}: ${said}`}
      x={x}
      y={y}
      xTicks={TENTHS}
      yTicks={TENTHS}
      xName="predicted chance of touching at the advised turn"
      yName="found"
    >
      <Path
        points={[
          [0, 0],
          [100, 100],
        ]}
        x={x}
        y={y}
        kind="limit"
      />
      {bands.map((band) => {
        const at = band.predicted * 100;
        const low = share(band.touched) * 100;
        const high = share(band.touched_or_more) * 100;
        return (
          <g key={band.from_chance}>
            <path class="plot-line plot-whisker" d={`M${x(at)} ${y(low)}V${y(high)}`} />
            <Mark
              x={x(at)}
              y={y(low)}
              shape="dot"
              told={`touched: ${band.touched.events} of ${band.poses}`}
            />
            <Mark
              x={x(at)}
              y={y(high)}
              shape="ring"
              told={`touched or turned further: ${band.touched_or_more.events} of ${band.poses}`}
            />
          </g>
        );
      })}
    </Plot>
  );
}

const end = (mm: number | null, word: string): string => (mm === null ? word : `${signed(mm, 2)} mm`);
const offsetRow = (word: string, offset: Offset | null) => [
  word,
  offset ? count(offset.said) : "fewer than 20",
  offset ? `${signed(offset.offset_mm, 2)} mm` : "–",
  offset
    ? `${end(offset.interval95[0], "below what was tried")} to ${end(offset.interval95[1], "above what was tried")}`
    : "–",
  offset ? `${offset.scatter_deg.toFixed(1)}°` : "–",
];

function MidLine({ report }: { report: Calibration }) {
  const { offset, pack } = report;
  return (
    <Figure
      title="Where the mid-line stands, by the log"
      none={offset ? undefined : report.held_back}
      about={
        <>
          <p>
            How far forward (+) of the pack's nominal face the middle of the face would have to stand for the
            corrections that were noted{pack ? `, under pack ${pack.version}` : ""}. From{" "}
            {count(report.corrected)} corrections in degrees among {count(report.poses)} poses;{" "}
            {count(report.unchanged)} were taken unchanged and are <strong>no evidence</strong>, and touches
            are too rare, and too often avoided by turning first, to be used.
          </p>
          <ul class="rates-rules">
            {report.rules.map((rule) => (
              <li key={rule}>{rule}</li>
            ))}
          </ul>
        </>
      }
    >
      {offset && (
        <>
          <Table
            caption="Offset of the mid-line"
            heads={["From", "Corrections used", "Offset", "95 % (profile likelihood)", "Scatter"]}
            rows={[
              offsetRow("All corrections", offset.both),
              offsetRow("Larger turns alone", offset.from_more),
            ]}
          />
          {report.held_back ? (
            <p>
              <strong>Not to be adopted as it is.</strong> {report.held_back}
            </p>
          ) : (
            <>
              <p>
                The clinic's lead may adopt it into the next pack: in <code>{report.file}</code> of the pack's
                source these points move together. Then check the pack, look at its turns, and approve it as
                any other.
              </p>
              <Table
                caption="Figures of the pack's source that would change"
                heads={["Key", "Now, mm", "Then, mm"]}
                rows={report.adopted.map((row) => [row.key, row.was.join(", "), row.becomes.join(", ")])}
              />
            </>
          )}
        </>
      )}
    </Figure>
  );
}
