import { useMemo } from "preact/hooks";
import type { RateReport, ScaleUsed } from "../../types.gen";
import { useAsked } from "../asked";
import { usePackForNames } from "../newest";
import { Copy, CopyLink } from "../parts/Copy";
import { News } from "../parts/News";
import { Select } from "../parts/Select";
import { Waiting } from "../parts/states";
import { hrefOf } from "../route";
import {
  RATES,
  type RateBy,
  type RateOf,
  type RateView,
  ratesFrom,
  ratesParams,
  SPLIT_WORDS,
  SPLITS,
} from "./address";
import { ratesCsv } from "./csv";
import { periodWords } from "./figures";
import { HarmPairs } from "./HarmPairs";
import { Filters, Tabs } from "./Head";
import { IntervalPlot } from "./IntervalPlot";
import { Known } from "./Known";
import { keyWords } from "./keys";
import { Published } from "./Published";
import { RateTable } from "./RateTable";

/** One rate: every figure with what it is counted among, its intervals, and what it cannot tell. */
export function RatesPage({ params }: { params: URLSearchParams }) {
  const query = params.toString();
  const view = useMemo(() => ratesFrom(new URLSearchParams(query)), [query]);
  const asked = useAsked<RateReport>(`/api/rates?${ratesParams(view)}`);
  const { answer, value, again } = asked;
  const names = usePackForNames();
  const set = (change: Partial<RateView>) => {
    location.hash = hrefOf("rates", null, ratesParams({ ...view, ...change }));
  };
  const report = value && value.of === view.of && value.by === view.by ? value : null;
  const scale = report?.scales?.find((one) => one.id === report.scale);
  const plainName = keyWords(view.by, names);
  const name = (key: string) => (view.by === "class" ? classWords(key, scale) : plainName(key));
  return (
    <div class="stack">
      <Tabs page="rates" period={view} />
      <h1>{RATES[view.of]}</h1>
      <Filters period={view} names={names} onPeriod={set}>
        <Select
          label="Rate"
          value={view.of}
          options={Object.entries(RATES).map(([id, text]) => ({ id, text }))}
          onPick={(of) => set({ of: of as RateOf, by: SPLITS[of as RateOf][0] as RateBy })}
        />
        <Select
          label="Split by"
          value={view.by}
          options={SPLITS[view.of].map((id) => ({ id, text: SPLIT_WORDS[id] }))}
          onPick={(by) => set({ by: by as RateBy, scale: "" })}
        />
        {view.by === "class" && report && (report.scales ?? []).length > 0 && (
          <Select
            label="Scale"
            value={report.scale ?? ""}
            options={(report.scales ?? []).map((one) => ({ id: one.id, text: one.name }))}
            onPick={(id) => set({ scale: id })}
          />
        )}
      </Filters>
      <Waiting
        answer={answer ?? (report ? { state: "ready", value: report } : null)}
        what="the rate"
        again={again}
      />
      {report && answer?.state !== "refused" && (
        <>
          <p class="rates-definition">
            <strong>{report.definition}</strong> {periodPhrase(report, names.site)}
            {report.provisional.length > 0 && (
              <strong>
                {" "}
                Provisional:{" "}
                {report.provisional.length === 1 ? "one device" : `${report.provisional.length} devices`} may
                still hold lines.
              </strong>
            )}
          </p>
          {scale && (
            <p class="quiet">
              Classes of the scale “{scale.name}”, table of {scale.versions.join(" and ")}. Other scales class
              the same signs otherwise.
            </p>
          )}
          <RateTable report={report} name={name} />
          <div class="rates-out">
            <CopyLink />
            <Copy word="Copy the table as CSV" text={() => ratesCsv(report, name)} />
          </div>
          <HarmPairs report={report} />
          <IntervalPlot report={report} name={name} />
          <Published report={report} name={name} />
          <Known
            rules={report.rules}
            position={report.position}
            asOf={asked.asOf}
            provisional={report.provisional}
            site={names.site}
          />
        </>
      )}
      <News of={asked} kinds={["lines", "reviews"]} />
    </div>
  );
}

const WITHOUT_CLASS: Record<string, string> = {
  unplaced: "No sign that this scale places",
  no_table: "No table: the pack in use is not here",
  running: "Not ended: no class",
};

const classWords = (key: string, scale: ScaleUsed | undefined): string =>
  WITHOUT_CLASS[key] ?? scale?.classes[key] ?? key;

export const periodPhrase = (
  report: { first: string | null; last: string | null; site: string | null },
  site: (id: string) => string,
): string =>
  `Counted over ${periodWords(report.first, report.last)}, ${report.site ? site(report.site) : "all sites"}.`;
