"""Funnel limits against recomputed values, SciPy's binomial, and what they promise."""

import numpy as np
import pytest
from published_values import published
from scipy import stats

from chinrest.model.errors import InputError
from chinrest.model.rates.funnel import false_flag_chance, funnel_limits, funnel_point

FUNNEL = published("rates")["funnel"]
TARGET = FUNNEL["target"]


@pytest.mark.parametrize("row", range(len(FUNNEL["procedures"])))
def test_limits_match_the_recomputed_example(row: int) -> None:
    procedures = FUNNEL["procedures"][row]
    limits = funnel_limits(TARGET, procedures)
    ours = [limits.low_998, limits.low_95, limits.high_95, limits.high_998]
    counts = [max(0.0, count) for count in FUNNEL["counts"][row]]
    assert [limit * procedures for limit in ours] == pytest.approx(counts, abs=6e-5)


def test_limits_match_scipys_binomial() -> None:
    """The interpolation, redone with SciPy's quantile, distribution and mass."""
    random = np.random.default_rng(7)
    for _ in range(300):
        n, p = int(np.exp(random.uniform(0, 12))), float(random.beta(0.5, 3))
        limits = funnel_limits(p, n)
        rows = (
            (0.001, limits.low_998),
            (0.025, limits.low_95),
            (0.975, limits.high_95),
            (0.999, limits.high_998),
        )
        for tail, ours in rows:
            r = stats.binom.ppf(tail, n, p)
            count = r - (stats.binom.cdf(r, n, p) - tail) / stats.binom.pmf(r, n, p)
            count = min(count, p * n) if tail < 0.5 else max(count, p * n)  # no line crosses the target
            assert ours * n == pytest.approx(min(n, max(0.0, count)), abs=1e-6 * max(1.0, count)), (
                n,
                p,
                tail,
            )


@pytest.mark.parametrize("procedures", [1, 2, 3, 5, 10, 40, 79])
def test_no_line_crosses_the_target_where_little_was_done(procedures: int) -> None:
    """A site without an event is inside; one with more than chance in a thousand gives is still above."""
    limits = funnel_limits(TARGET, procedures)
    assert limits.low_998 <= limits.low_95 <= TARGET <= limits.high_95 <= limits.high_998
    assert funnel_point(TARGET, 0, procedures).zone == "inside"
    for events in range(1, procedures + 1):
        point = funnel_point(TARGET, events, procedures)
        assert point.zone != "below_95"
        if stats.binom.sf(events - 1, procedures, TARGET) <= 0.001:
            assert point.zone == "above_998"


def test_interpolated_lines_are_crossed_by_chance_about_as_often_as_they_say() -> None:
    """Summed exactly over every count. At small numbers it is not 2.5 %, as the module says."""
    crossed = [chance_above(n) for n in (100, 200, 500, 1000, 10_000, 100_000)]
    assert max(crossed) == pytest.approx(0.045, abs=5e-4)
    assert min(crossed) == crossed[-1] == pytest.approx(0.026, abs=5e-4)


def chance_above(procedures: int) -> float:
    limit = funnel_limits(TARGET, procedures).high_95
    counts = np.arange(procedures + 1)
    return float(stats.binom.pmf(counts[counts / procedures > limit], procedures, TARGET).sum())


def test_a_point_knows_its_zone_and_its_exact_tail() -> None:
    zones = {events: funnel_point(TARGET, events, 1000).zone for events in (2, 3, 5, 6, 13, 19, 20, 24, 25)}
    assert zones == {
        **{2: "below_998", 3: "below_95", 5: "below_95", 6: "inside", 13: "inside"},
        **{19: "inside", 20: "above_95", 24: "above_95", 25: "above_998"},
    }
    high, low = funnel_point(TARGET, 20, 1000), funnel_point(TARGET, 5, 1000)
    assert high.tail == pytest.approx(stats.binom.sf(19, 1000, TARGET), rel=1e-9)
    assert low.tail == pytest.approx(stats.binom.cdf(5, 1000, TARGET), rel=1e-9)
    assert funnel_point(TARGET, 0, 10).zone == "inside"
    assert funnel_point(TARGET, 10, 10).tail == pytest.approx(TARGET**10)


def test_many_sites_make_false_flags() -> None:
    assert false_flag_chance(10, 0.95) == pytest.approx(FUNNEL["ten_sites_at_95"], abs=5e-4)
    assert false_flag_chance(10, 0.998) == pytest.approx(FUNNEL["ten_sites_at_998"], abs=5e-4)


@pytest.mark.parametrize("target", [0.0, 1.0, -0.1, float("nan")])
def test_a_target_must_be_a_chance(target: float) -> None:
    with pytest.raises(InputError) as caught:
        funnel_limits(target, 100)
    assert caught.value.field == "target"


def test_a_site_without_procedures_has_no_place() -> None:
    with pytest.raises(InputError, match="must lie from 1"):
        funnel_limits(TARGET, 0)
    with pytest.raises(InputError, match="at least one procedure"):
        funnel_point(TARGET, 0, 0)
    with pytest.raises(InputError, match="must lie from 1"):
        false_flag_chance(0, 0.95)
