"""g-chart: cases between rare events, one point for each event after the first.

Benneyan 2001, Health Care Manag Sci 4:305. The limit is that of the geometric distribution, mean + 3 standard
deviations. What is plotted must be said, since half the trade counts the event's own case and half does not:

- `cases_between`: cases without the event between two events, 0 or more; limit d + 3 sqrt(d (d + 1));
- `cases_to_event`: the same plus the event's own case, 1 or more; limit m + 3 sqrt(m (m - 1)), the same
  chart moved up by 1.

The open handbook github.com/anhoej/spc4hc puts the first formula on the second count, 3 cases higher than it
should be. A point above the limit is a long time without an event: better, or not reported. Nothing can lie
below a lower limit of 0, so the runs about the median and a CUSUM look for worse. The distribution is far
from symmetric: zone rules do not apply, and the 3-sigma limit is crossed by chance more than ten times as
often as 1 in 740. `exact_high` is the limit that keeps to that.
"""

from collections.abc import Sequence
from math import ceil, exp, floor, inf, log, log1p, sqrt
from statistics import median
from typing import Literal

from msgspec import Struct

from ..errors import InputError
from .counts import few_points, whole
from .runs import Runs, runs_about

Counted = Literal["cases_between", "cases_to_event"]
LEAST: dict[Counted, int] = {"cases_between": 0, "cases_to_event": 1}

# The tail beyond 3 standard deviations of a normal distribution, one side.
TAIL = 0.00135


class GPoint(Struct, frozen=True, kw_only=True):
    """One gap, in cases; whether it lies above the 3-sigma limit, and above the exact one."""

    cases: int
    above_ucl: bool
    above_exact: bool


class GChart(Struct, frozen=True, kw_only=True):
    """All in cases, counted as `counted` says. The centre line is the median, as half the points lie on each
    side of it and not of the mean. `false_alarm` is the chance of one gap above `ucl` where nothing changed;
    `exact_low` and `exact_high` the 0.00135 and 0.99865 quantiles. `runs` is null for fewer than 10 points.
    """

    counted: Counted
    points: tuple[GPoint, ...]
    mean: float
    median: float
    lcl: float
    ucl: float
    false_alarm: float
    exact_low: int
    exact_high: int
    runs: Runs | None
    small_number: tuple[str, ...]


def g_chart(cases: Sequence[int], counted: Counted) -> GChart:
    """The chart of these gaps, oldest first. Raises InputError naming the place, from 0, of a wrong one."""
    own = LEAST[counted]
    gaps = [whole(f"{counted}[{place}]", value, least=own) for place, value in enumerate(cases)]
    if len(gaps) < 2:
        raise InputError(counted, f"has {len(gaps)} gaps; a chart needs at least 2")
    mean = sum(gaps) / len(gaps)
    between = mean - own
    ucl = mean + 3 * sqrt(between * (between + 1))
    # log of the chance that a case passes without the event
    log_free = -log1p(1 / between) if between > 0 else -inf
    exact_high = _quantile(TAIL, log_free) + own
    half_way = float(median(gaps))
    return GChart(
        counted=counted,
        points=tuple(GPoint(cases=gap, above_ucl=gap > ucl, above_exact=gap > exact_high) for gap in gaps),
        mean=mean,
        median=half_way,
        lcl=0.0,
        ucl=ucl,
        false_alarm=_beyond(floor(ucl) - own, log_free),
        exact_low=_quantile(1 - TAIL, log_free) + own,
        exact_high=exact_high,
        runs=runs_about(gaps, half_way),
        small_number=few_points(len(gaps)),
    )


def _beyond(between: int, log_free: float) -> float:
    """Chance of more than `between` event-free cases in a row."""
    return exp((between + 1) * log_free)


def _quantile(beyond: float, log_free: float) -> int:
    """The least number of event-free cases that is passed with a chance of at most `beyond`."""
    return 0 if log_free == -inf else max(0, ceil(log(beyond) / log_free) - 1)
