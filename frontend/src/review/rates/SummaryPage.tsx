import { useMemo } from "preact/hooks";
import type { ChartReport, RateReport } from "../../types.gen";
import { useAsked } from "../asked";
import { usePackForNames } from "../newest";
import { CopyLink } from "../parts/Copy";
import { Waiting } from "../parts/states";
import { hrefOf } from "../route";
import { everySite, ownSite } from "../yours";
import { type Period, periodFrom, periodParams, RATES, type RateOf, SPLIT_WORDS, SPLITS } from "./address";
import { FunnelChart } from "./FunnelChart";
import { periodWords } from "./figures";
import { Filters, Tabs } from "./Head";
import { Known } from "./Known";
import { deskHarmWords, keyWords } from "./keys";
import { MonthlyChart } from "./MonthlyChart";
import { Published } from "./Published";
import { RateTable } from "./RateTable";

/** All rates of a period on paper, for a committee. */
export function SummaryPage({ params }: { params: URLSearchParams }) {
  const query = params.toString();
  const period = useMemo(() => periodFrom(new URLSearchParams(query)), [query]);
  const names = usePackForNames();
  const set = (change: Partial<Period>) => {
    location.hash = hrefOf("summary", null, periodParams({ ...period, ...change }));
  };
  return (
    <div class="stack rates-summary">
      <Tabs page="summary" period={period} />
      <h1>
        Rates, {periodWords(period.first || null, period.last || null)},{" "}
        {period.site ? names.site(period.site) : everySite(ownSite())}
      </h1>
      <Filters period={period} names={names} onPeriod={set} />
      <div class="rates-out">
        <CopyLink />
        <p class="quiet">
          The incidents themselves, with their review and actions: <a href={hrefOf("report")}>Report</a>.
        </p>
      </div>
      {(Object.keys(RATES) as RateOf[]).map((of) => (
        <OneRate key={of} of={of} period={period} />
      ))}
    </div>
  );
}

function OneRate({ of, period }: { of: RateOf; period: Period }) {
  const by = SPLITS[of][0] ?? "none";
  const names = usePackForNames();
  const asked = useAsked<RateReport>(`/api/rates?${periodParams(period, new URLSearchParams({ of, by }))}`);
  const charts = useAsked<ChartReport>(`/api/charts?${periodParams(period, new URLSearchParams({ of }))}`);
  const name = keyWords(by, names);
  const report = asked.value;
  return (
    <section class="rates-one" aria-label={RATES[of]}>
      <h2>
        {RATES[of]}, by {SPLIT_WORDS[by]}
      </h2>
      <Waiting
        answer={asked.answer ?? (report ? { state: "ready", value: report } : null)}
        what={RATES[of].toLowerCase()}
        again={asked.again}
      />
      {report && (
        <>
          <p class="rates-definition">{report.definition}</p>
          <RateTable report={report} name={name} />
          {SPLITS[of].includes("harm") && (
            <>
              <ByHarm of={of} by="harm" period={period} />
              <ByHarm of={of} by="desk_harm" period={period} />
            </>
          )}
          <Published report={report} name={name} />
          {charts.value?.funnel && (
            <FunnelChart funnel={charts.value.funnel} none={undefined} site={names.site} of={RATES[of]} />
          )}
          {charts.value?.monthly && (
            <MonthlyChart monthly={charts.value.monthly} none={undefined} of={RATES[of]} />
          )}
          {of === "reaction" && (
            <Known
              rules={report.rules}
              position={report.position}
              asOf={asked.asOf}
              provisional={report.provisional}
              site={names.site}
            />
          )}
        </>
      )}
    </section>
  );
}

function ByHarm({ of, by, period }: { of: RateOf; by: "harm" | "desk_harm"; period: Period }) {
  const asked = useAsked<RateReport>(`/api/rates?${periodParams(period, new URLSearchParams({ of, by }))}`);
  if (!asked.value) return <Waiting answer={asked.answer} what="the harm" again={asked.again} />;
  if (asked.value.rows.length === 0) return null;
  return (
    <>
      <h3>
        {RATES[of]}, by {SPLIT_WORDS[by]}
      </h3>
      <RateTable report={asked.value} name={(key) => (key ? deskHarmWords(key) : "Not known")} />
    </>
  );
}
