"""Charts of one rate: across sites, month by month, between rare events, and a running sum."""

from collections.abc import Callable
from itertools import pairwise
from typing import Annotated, Any

from litestar import get
from litestar.params import FromQuery, QueryParameter
from msgspec.structs import replace

from chinrest.log.tallies import month_of
from chinrest.model.errors import InputError
from chinrest.model.rates.attribute_charts import u_chart
from chinrest.model.rates.cusum import cusum_path, cusum_plan
from chinrest.model.rates.funnel import false_flag_chance, funnel_limits, funnel_point
from chinrest.model.rates.gchart import g_chart
from chinrest.model.rates.tchart import t_chart
from chinrest.server.charts_wire import ChartReport, Cusum, Funnel, FunnelSite, Gaps, Monthly
from chinrest.server.context import Call, now_ms, store_of
from chinrest.server.faults import RequestError
from chinrest.server.guards import reviewer
from chinrest.server.rates import BELOW, DEFINITIONS, Month, Short, end_of, period_of, rules_of
from chinrest.server.rates_wire import RateOf
from chinrest.server.scope import WITHIN, scope_of
from chinrest.store.counting import CaseCount, Counted

CURVE_POINTS = 60
CUSUM_POINTS = 1000
DAY_MS = 86_400_000
PerThousand = Annotated[float | None, QueryParameter(gt=0, lt=1000)]
NOTHING = "Nothing of the kind was done in this period."


class NoChartError(Exception):
    """Why there is no chart."""


def funnel(events: dict[str, int], procedures: dict[str, int]) -> Funnel:
    """Every site that did something, about the rate of all together."""
    done = {site: n for site, n in procedures.items() if n > 0}
    top, bottom = sum(events.get(site, 0) for site in done), sum(done.values())
    if len(done) < 2:
        raise NoChartError("A funnel compares sites: fewer than two did something in this period.")
    if top == 0 or top >= bottom:
        raise NoChartError("There is no rate between none and all to compare sites with.")
    target = top / bottom
    most = max(done.values())
    steps = sorted({max(1, round(most * 1.1 * step / CURVE_POINTS)) for step in range(1, CURVE_POINTS + 1)})
    return Funnel(
        target=target,
        sites=[
            FunnelSite(site=site, point=funnel_point(target, min(events.get(site, 0), n), n))
            for site, n in sorted(done.items())
        ],
        curve=[funnel_limits(target, n) for n in steps],
        false_flag=false_flag_chance(len(done), 0.95),
    )


def monthly(events: dict[str, int], procedures: dict[str, int], this_month: str) -> Monthly:
    """Events per procedure by month; a month with nothing done has no point."""
    months = sorted(month for month, n in procedures.items() if n > 0)
    if len(months) < 2:
        raise NoChartError("Fewer than two months with something done.")
    x, n = [events.get(month, 0) for month in months], [procedures[month] for month in months]
    if sum(x) == 0:
        raise NoChartError("No event in any month: see the rate and its upper limit.")
    chart = u_chart(x, [float(each) for each in n])
    return Monthly(months=months, events=x, procedures=n, chart=chart, unfinished=months[-1] >= this_month)


def gaps(cases: list[CaseCount]) -> Gaps:
    """Procedures without the event between two events, and the days between them.

    Several events in one case are 0 procedures and 0 days apart.
    """
    done, places, times = 0, [], []
    for case in cases:
        done += case.procedures
        places += [done] * case.events
        times += [case.at] * case.events
    if len(places) < 3:
        raise NoChartError(
            "Fewer than three events: a chart of the gaps between them needs at least two gaps."
        )
    between = [max(0, after - before - 1) for before, after in pairwise(places)]
    days = [(after - before) / DAY_MS for before, after in pairwise(times)]
    return Gaps(ends=times[1:], cases=g_chart(between, "cases_between"), days=t_chart(days))


def cusum(cases: list[CaseCount], rate_in: float, rate_out: float, threshold: float) -> Cusum:
    """The running sum over every procedure in order; a case's events come with its first procedures."""
    plan = cusum_plan(rate_in, rate_out, threshold)
    outcomes = [
        place < case.events for case in cases for place in range(max(case.procedures, min(case.events, 1)))
    ]
    if not outcomes:
        raise NoChartError(NOTHING)
    path = cusum_path(plan, outcomes)
    stretch = -(-len(path.sums) // CUSUM_POINTS)
    points = []
    for start in range(0, len(path.sums), stretch):
        part = path.sums[start : start + stretch]
        highest = max(range(len(part)), key=part.__getitem__)
        points.append((start + highest + 1, part[highest]))
    return Cusum(
        plan=plan,
        procedures=len(outcomes),
        points=points,
        signals=[place + 1 for place in path.signals],
    )


@get("/api/charts", guards=[reviewer], opt=WITHIN)
async def charts(
    request: Call,
    of: FromQuery[RateOf],
    first: Month = None,
    last: Month = None,
    site: Short = None,
    rate_in: PerThousand = None,
    rate_out: PerThousand = None,
    threshold: Annotated[float, QueryParameter(gt=0, le=10)] = 3.5,
) -> ChartReport:
    """The charts of one rate. The running sum is drawn where `rate_in` and `rate_out` (per 1,000: the rate
    that is accepted, and the one to be told apart from it) are given; they are to be fixed before
    looking."""
    period, now = period_of(request, first, last, site), now_ms()
    store = store_of(request)
    counted = await store.counted(of, BELOW[of], period, ("site", "site"), end_of(last, now))
    by_month = await store.counted(of, BELOW[of], period, ("month", "month"), end_of(last, now))
    cases = await store.case_counts(of, BELOW[of], period)
    none: dict[str, str] = {}
    report = ChartReport(
        of=of,
        definition=DEFINITIONS[of],
        rules=rules_of(of, "none", counted),
        funnel=None,
        monthly=None,
        gaps=None,
        cusum=None,
        none=none,
        position=counted.position,
        first=first,
        last=last,
        site=period.site,
    )
    drawn: dict[str, Any] = {}
    drawers: dict[str, Callable[[], Funnel | Monthly | Gaps | Cusum]] = {
        "funnel": lambda: _funnel(request, counted),
        "monthly": lambda: monthly(by_month.events, by_month.procedures, month_of(now)),
        "gaps": lambda: gaps(cases),
        "cusum": lambda: _cusum(cases, rate_in, rate_out, threshold),
    }
    for name, draw in drawers.items():
        try:
            drawn[name] = draw()
        except NoChartError as why:
            none[name] = str(why)
    return replace(report, **drawn)


def _funnel(request: Call, counted: Counted) -> Funnel:
    """Of other sites a person with a site sees nothing, and no unnamed peers either: of two or three sites
    everybody knows which the others are."""
    own = scope_of(request).site
    if own is not None:
        raise NoChartError(
            f"A funnel compares sites, and you see {own} alone. Whoever sees all sites can look at it."
        )
    return funnel(counted.events, counted.procedures)


def _cusum(cases: list[CaseCount], rate_in: float | None, rate_out: float | None, threshold: float) -> Cusum:
    if rate_in is None or rate_out is None:
        raise NoChartError(
            "Say which rate is accepted and which is to be told apart from it, before you look."
        )
    try:
        return cusum(cases, rate_in / 1000, rate_out / 1000, threshold)
    except InputError as fault:
        raise RequestError(400, "invalid", fault.field, fault.why) from fault


ROUTES = [charts]
