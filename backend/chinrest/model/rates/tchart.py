"""t-chart: days between rare events, where nobody counts the cases between them.

Nelson 1994, J Qual Technol 26:239: days to the power 1/3.6 are nearly normal where days are exponential; the
transformed days are charted as individuals with moving ranges (2.66 times the mean moving range) and the
limits are turned back into days. It takes the number of cases a day as steady; where cases can be counted,
the g-chart is the better one. As there: above is good news or no reports, and no zone rules but runs about
the median.
"""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from msgspec import Struct

from .counts import few_points, measures
from .runs import Runs, runs_about

POWER = 3.6
# 3 / d2 for a moving range of two
SIGMAS_PER_RANGE = 2.66


class TPoint(Struct, frozen=True, kw_only=True):
    """One gap in days, and whether it lies beyond a limit."""

    days: float
    above_ucl: bool
    below_lcl: bool


class TChart(Struct, frozen=True, kw_only=True):
    """All in days. `centre` is the transformed mean turned back; runs are about the median of the days."""

    points: tuple[TPoint, ...]
    centre: float
    median: float
    lcl: float
    ucl: float
    runs: Runs | None
    small_number: tuple[str, ...]


def t_chart(days: Sequence[float]) -> TChart:
    """The chart of these gaps in days, oldest first; raises InputError naming the place of a wrong one.

    Two events in one day, known by date only, give a gap of 0: it is charted, and said to be coarse.
    """
    gaps = measures("days", days)
    turned = [gap ** (1 / POWER) for gap in gaps]
    mean = sum(turned) / len(turned)
    spread = sum(abs(b - a) for a, b in pairwise(turned)) / (len(turned) - 1)
    low, high = mean - SIGMAS_PER_RANGE * spread, mean + SIGMAS_PER_RANGE * spread
    lcl, ucl = max(0.0, low) ** POWER, high**POWER
    said = few_points(len(gaps))
    if 0.0 in gaps:
        said += ("Some gaps are 0 days: dates are too coarse here. Use times of day, or count cases.",)
    half_way = median(gaps)
    return TChart(
        points=tuple(TPoint(days=gap, above_ucl=gap > ucl, below_lcl=gap < lcl) for gap in gaps),
        centre=mean**POWER,
        median=half_way,
        lcl=lcl,
        ucl=ucl,
        runs=runs_about(gaps, half_way),
        small_number=said,
    )
