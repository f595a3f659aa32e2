"""Funnel plot: how far a site's rate may lie from the target by chance, for the number it did.

Limits are exact binomial, interpolated between counts as in Spiegelhalter 2005, Stat Med 24:1185, appendix:
with r the smallest count whose cumulative chance reaches p, and a = (P(R <= r) - p) / P(R = r), the limit is
(r - a) / n. (Formula from memory.) That makes a smooth line, but not an exact test: at a target of 12.8 per
1,000 and 100 to 100,000 procedures, a site at the target lies above the upper 95 % line with a chance of 2.6
to 4.5 %, not 2.5 %. So each point carries its own exact tail chance. Where so little was done that r is a
count below the target, the interpolated upper line would pass below the target: it stops there, since no
count between could be seen (and the lower one likewise). Limits are not widened for over-dispersion.
"""

from collections.abc import Callable
from math import exp
from typing import Literal

from msgspec import Struct
from scipy.special import betainc, betaln, xlog1py, xlogy

from .counts import chance, events_among, whole

Zone = Literal["inside", "above_95", "above_998", "below_95", "below_998"]


class FunnelLimits(Struct, frozen=True, kw_only=True):
    """Limits of the rate, as proportions (0 to 1), at one number of procedures."""

    procedures: int
    low_998: float
    low_95: float
    high_95: float
    high_998: float


class FunnelPoint(Struct, frozen=True, kw_only=True):
    """One site. `rate` is a proportion; `tail` the exact chance, at the target, of a count at least
    as far out on the same side.
    """

    events: int
    limits: FunnelLimits
    rate: float
    zone: Zone
    tail: float


def funnel_limits(target: float, procedures: int) -> FunnelLimits:
    """Limits about `target` (a proportion, not 0 or 1) for a site with `procedures`. Raises InputError."""
    p, n = chance("target", target), whole("procedures", procedures, least=1)

    def low(tail: float) -> float:
        return min(p, max(0.0, _interpolated_count(tail, n, p) / n))

    def high(tail: float) -> float:
        return max(p, min(1.0, _interpolated_count(tail, n, p) / n))

    return FunnelLimits(
        procedures=n, low_998=low(0.001), low_95=low(0.025), high_95=high(0.975), high_998=high(0.999)
    )


def funnel_point(target: float, events: int, procedures: int) -> FunnelPoint:
    """Where a site with these counts lies. Raises InputError."""
    x, n = events_among(events, procedures)
    limits = funnel_limits(target, n)
    rate = x / n
    zone: Zone = "inside"
    if rate > limits.high_95:
        zone = "above_998" if rate > limits.high_998 else "above_95"
    elif rate < limits.low_95:
        zone = "below_998" if rate < limits.low_998 else "below_95"
    above = 1.0 if x == 0 else float(betainc(x, n - x + 1, target))
    below = _cumulative(x, n, target)
    return FunnelPoint(events=x, limits=limits, rate=rate, zone=zone, tail=above if rate > target else below)


def false_flag_chance(sites: int, level: float) -> float:
    """Chance that at least one of `sites`, all at the target, lies outside limits of `level` (such as 0.95).

    Taken as independent, each site looked at once. Raises InputError.
    """
    return float(1.0 - chance("level", level) ** whole("sites", sites, least=1))


def _interpolated_count(tail: float, n: int, p: float) -> float:
    r = _least(lambda count: _cumulative(count, n, p) >= tail, n)
    at_r = exp(-betaln(1 + n - r, 1 + r) + xlogy(r, p) + xlog1py(n - r, -p)) / (n + 1)
    return r - (_cumulative(r, n, p) - tail) / at_r


def _least(holds: Callable[[int], bool], most: int) -> int:
    """The least count from 0 to `most` for which a monotone condition holds; it holds for `most`."""
    low, high = 0, most
    while low < high:
        middle = (low + high) // 2
        if holds(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _cumulative(count: int, n: int, p: float) -> float:
    return 1.0 if count >= n else float(betainc(n - count, count + 1, 1 - p))
