"""Run rules: signs of a change that no single point shows.

Two families, for two kinds of chart. The rules about the median need no distribution, so they serve every
chart. The zone rules take the points as roughly normal about the mean; on g, t and low-count charts they
cry wolf, and are not for those.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import log2
from typing import Literal

import numpy as np
from msgspec import Struct
from scipy.special import bdtr

ZoneRule = Literal[
    "beyond_3_sigma", "two_of_three_beyond_2_sigma", "four_of_five_beyond_1_sigma", "eight_on_one_side"
]
# rule -> (limit in sigma, points that must lie beyond it on one side, of how many)
ZONE_RULES: dict[ZoneRule, tuple[float, int, int]] = {
    "beyond_3_sigma": (3.0, 1, 1),
    "two_of_three_beyond_2_sigma": (2.0, 2, 3),
    "four_of_five_beyond_1_sigma": (1.0, 4, 5),
    "eight_on_one_side": (0.0, 8, 8),
}
LEAST_POINTS = 10


class Runs(Struct, frozen=True, kw_only=True):
    """Runs of points on one side of a centre line; points on the line itself are left out.

    `useful` points are left. `longest_run` above `longest_limit` is a `shift`; `crossings` of the line below
    `crossings_limit` are `few_crossings`. `longest_from` and `longest_to`: places in the series, from 0, of
    the first and last point of the longest run.
    """

    useful: int
    longest_run: int
    longest_limit: int
    longest_side: Literal["above", "below"]
    longest_from: int
    longest_to: int
    crossings: int
    crossings_limit: int
    shift: bool
    few_crossings: bool


def runs_about(values: Sequence[float], centre: float) -> Runs | None:
    """The Anhoej rules about `centre` (the median); null where fewer than 10 points lie off it.

    Longest run above round(log2 n) + 3, crossings below the 5 % point of the binomial of n - 1 at 1/2: the
    rules of the open handbook of statistical process control for healthcare (github.com/anhoej/spc4hc); the
    least of 10 points is common practice, no source. Simulated about the series' own median, at least one of
    the two rules speaks up by chance in 1 to 5 series of 100, from 12 to 50 points.
    """
    places = [place for place, value in enumerate(values) if value != centre]
    n = len(places)
    if n < LEAST_POINTS:
        return None
    above = [values[place] > centre for place in places]
    starts = [0, *(i for i in range(1, n) if above[i] != above[i - 1]), n]
    begin, end = max(pairwise(starts), key=lambda run: run[1] - run[0])
    longest, crossings = end - begin, len(starts) - 2
    longest_limit = round(log2(n)) + 3
    crossings_limit = next(k for k in range(n) if bdtr(k, n - 1, 0.5) >= 0.05)
    return Runs(
        useful=n,
        longest_run=longest,
        longest_limit=longest_limit,
        longest_side="above" if above[begin] else "below",
        longest_from=places[begin],
        longest_to=places[end - 1],
        crossings=crossings,
        crossings_limit=crossings_limit,
        shift=longest > longest_limit,
        few_crossings=crossings < crossings_limit,
    )


def zone_rules(z: Sequence[float]) -> list[tuple[ZoneRule, ...]]:
    """For each point, in standard errors from the centre, the Western Electric (1956) rules it completes.

    All four together give a false alarm every 91.75 points, the first alone every 370 (Champ & Woodall 1987,
    Technometrics 29:393, as widely quoted), so they are for looking back; for watching on, ISO 7870-2:2023
    keeps only the first (as quoted).
    """
    points = np.asarray(z, dtype=float)
    completed: list[list[ZoneRule]] = [[] for _ in points]
    for rule, (limit, needed, of) in ZONE_RULES.items():
        for side in (points, -points):
            beyond = side > limit
            counted = np.convolve(beyond, np.ones(of, dtype=int))[: len(points)]
            for place in np.flatnonzero(beyond & (counted >= needed)):
                completed[place].append(rule)
    return [tuple(rules) for rules in completed]
