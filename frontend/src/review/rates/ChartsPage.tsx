import { useMemo } from "preact/hooks";
import type { ChartReport } from "../../types.gen";
import { useAsked } from "../asked";
import { usePackForNames } from "../newest";
import { CopyLink } from "../parts/Copy";
import { News } from "../parts/News";
import { Select } from "../parts/Select";
import { Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { type ChartView, chartsFrom, chartsParams, RATES, type RateOf } from "./address";
import { CusumChart } from "./CusumChart";
import { FunnelChart } from "./FunnelChart";
import { CasesBetween, DaysBetween } from "./GapsChart";
import { Filters, Tabs } from "./Head";
import { Known } from "./Known";
import { MonthlyChart } from "./MonthlyChart";
import { periodPhrase } from "./RatesPage";

/** One rate in pictures: across sites, month by month, between two events, and as a running sum. */
export function ChartsPage({ params }: { params: URLSearchParams }) {
  const query = params.toString();
  const view = useMemo(() => chartsFrom(new URLSearchParams(query)), [query]);
  const asked = useAsked<ChartReport>(`/api/charts?${chartsParams(view)}`);
  const { answer, value, again } = asked;
  const names = usePackForNames();
  const set = (change: Partial<ChartView>) => {
    location.hash = hrefOf("charts", null, chartsParams({ ...view, ...change }));
  };
  const report = value && value.of === view.of ? value : null;
  return (
    <div class="stack">
      <Tabs page="charts" period={view} />
      <h1>{RATES[view.of]}: charts</h1>
      <Filters period={view} names={names} onPeriod={set}>
        <Select
          label="Rate"
          value={view.of}
          options={Object.entries(RATES).map(([id, text]) => ({ id, text }))}
          onPick={(of) => set({ of: of as RateOf })}
        />
      </Filters>
      <Waiting
        answer={answer ?? (report ? { state: "ready", value: report } : null)}
        what="the charts"
        again={again}
      />
      {report && (
        <>
          <p class="rates-definition">
            <strong>{report.definition}</strong> {periodPhrase(report, names.site)}
          </p>
          <div class="rates-out">
            <CopyLink />
          </div>
          <FunnelChart funnel={report.funnel} none={report.none.funnel} site={names.site} />
          <MonthlyChart monthly={report.monthly} none={report.none.monthly} />
          <CasesBetween gaps={report.gaps} none={report.none.gaps} />
          <DaysBetween gaps={report.gaps} none={report.none.gaps} />
          <CusumChart cusum={report.cusum} none={report.none.cusum} view={view} set={set} />
          <Known rules={report.rules} position={report.position} asOf={asked.asOf} site={names.site} />
        </>
      )}
      <News of={asked} kinds={["lines", "reviews"]} />
    </div>
  );
}
