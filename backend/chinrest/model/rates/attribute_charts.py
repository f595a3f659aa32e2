"""p-chart (procedures with the event) and u-chart (events per procedure), for what is common enough.

Limits at each point: centre +- 3 standard errors for that point's own number of procedures; NIST/SEMATECH
e-Handbook of Statistical Methods, 6.3.3. Where a point expects fewer than 5 events (or, on a p-chart, fewer
than 5 procedures without) the normal approximation does not hold: zone rules are left out and it is said.
(At least 5 is common practice; Emura & Lin 2013, mpra.ub.uni-muenchen.de/51029, compare five such rules.)
"""

from collections.abc import Sequence
from math import sqrt
from statistics import median
from typing import Literal

from msgspec import Struct

from ..errors import InputError
from .counts import events_among, few_points, whole
from .runs import Runs, ZoneRule, runs_about, zone_rules

LEAST_EXPECTED = 5.0


class ChartPoint(Struct, frozen=True, kw_only=True):
    """One period: events per procedure, its limits, and the rules that this point completes."""

    rate: float
    lcl: float
    ucl: float
    beyond_limits: bool
    rules: tuple[ZoneRule, ...]


class AttributeChart(Struct, frozen=True, kw_only=True):
    """Rates per procedure. `zones` says whether the zone rules were applied; runs are about the median."""

    kind: Literal["p", "u"]
    centre: float
    median: float
    points: tuple[ChartPoint, ...]
    zones: bool
    runs: Runs | None
    small_number: tuple[str, ...]


def p_chart(events: Sequence[int], procedures: Sequence[int]) -> AttributeChart:
    """Share of procedures with the event, by period, oldest first. Raises InputError naming the period."""
    _same_length(events, procedures)
    pairs = []
    for place, pair in enumerate(zip(events, procedures, strict=True)):
        pairs.append(events_among(*pair, prefix=f"period[{place}]."))
    centre = sum(x for x, _ in pairs) / sum(n for _, n in pairs)
    expected = min(n for _, n in pairs) * min(centre, 1 - centre)
    return _chart("p", pairs, centre, centre * (1 - centre), 1.0, expected)


def u_chart(events: Sequence[int], procedures: Sequence[float]) -> AttributeChart:
    """Events per procedure, by period, oldest first; one procedure may have several.

    `procedures` may also be an exposure in other units, such as thousands. Raises InputError naming it.
    """
    _same_length(events, procedures)
    pairs = []
    for place, (x, n) in enumerate(zip(events, procedures, strict=True)):
        if not 0.0 < n < float("inf"):
            raise InputError(f"period[{place}].procedures", f"is {n}; must be above 0")
        pairs.append((whole(f"period[{place}].events", x), float(n)))
    centre = sum(x for x, _ in pairs) / sum(n for _, n in pairs)
    return _chart("u", pairs, centre, centre, float("inf"), min(n for _, n in pairs) * centre)


def _same_length(events: Sequence[int], procedures: Sequence[float]) -> None:
    if len(events) != len(procedures):
        raise InputError("events", f"has {len(events)} periods where procedures has {len(procedures)}")
    if len(events) < 2:
        raise InputError("events", f"has {len(events)} periods; a chart needs at least 2")


def _chart(
    kind: Literal["p", "u"],
    pairs: Sequence[tuple[int, float]],
    centre: float,
    variance: float,
    most: float,
    least_expected: float,
) -> AttributeChart:
    rates = [x / n for x, n in pairs]
    errors = [sqrt(variance / n) for _, n in pairs]
    zones = least_expected >= LEAST_EXPECTED
    rules: list[tuple[ZoneRule, ...]] = [() for _ in rates]
    said = few_points(len(rates))
    if zones:
        rules = zone_rules([(rate - centre) / error for rate, error in zip(rates, errors, strict=True)])
    else:
        said += (
            f"A period expects fewer than {LEAST_EXPECTED:g} events, or fewer than that without: its limits "
            "are crossed by chance more often than 1 in 370, and zone rules are left out. Chart the gaps.",
        )
    points = []
    for rate, error, completed in zip(rates, errors, rules, strict=True):
        lcl, ucl = max(0.0, centre - 3 * error), min(most, centre + 3 * error)
        beyond = rate > ucl or rate < lcl
        points.append(ChartPoint(rate=rate, lcl=lcl, ucl=ucl, beyond_limits=beyond, rules=completed))
    half_way = median(rates)
    return AttributeChart(
        kind=kind,
        centre=centre,
        median=half_way,
        points=tuple(points),
        zones=zones,
        runs=runs_about(rates, half_way),
        small_number=said,
    )
