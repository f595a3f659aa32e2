"""Intervals, comparisons and small numbers against published tables and SciPy's own methods."""

import math
from typing import Any

import numpy as np
import pytest
from published_values import published
from scipy import stats
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

from chinrest.model.errors import InputError
from chinrest.model.rates.compare import compare
from chinrest.model.rates.intervals import clopper_pearson, garwood, wilson
from chinrest.model.rates.summary import rate_of

RATES = published("rates")
PROPORTIONS, DYE = RATES["proportions"], RATES["dye_series"]
RANDOM = np.random.default_rng(20240611)


def pairs(count: int, most: int) -> list[tuple[int, int]]:
    """(events, procedures), procedures evenly spread in their logarithm, every twentieth without an event."""
    procedures = np.exp(RANDOM.uniform(0, math.log(most), count)).astype(int)
    events = RANDOM.binomial(procedures, RANDOM.beta(0.3, 1.5, count))
    events[::20] = 0
    events[10::40] = procedures[10::40]
    return [(int(x), int(n)) for x, n in zip(events, procedures, strict=True)]


@pytest.mark.parametrize("row", range(len(PROPORTIONS["cases"])))
def test_proportions_match_newcombes_table(row: int) -> None:
    events, procedures = PROPORTIONS["cases"][row]
    assert clopper_pearson(events, procedures) == pytest.approx(PROPORTIONS["exact"][row], abs=6e-6)
    assert wilson(events, procedures) == pytest.approx(PROPORTIONS["wilson"][row], abs=6e-6)


@pytest.mark.parametrize("row", range(len(DYE["cases"])))
def test_published_dye_series_get_their_intervals(row: int) -> None:
    rate = rate_of(*DYE["cases"][row])
    assert [end / 10 for end in rate.exact95] == pytest.approx(DYE["exact_percent"][row], abs=6e-4)
    assert [end / 10 for end in rate.wilson95] == pytest.approx(DYE["wilson_percent"][row], abs=6e-4)


def test_intervals_match_scipy_on_a_thousand_random_pairs() -> None:
    """scipy.stats.binomtest finds its limits by root finding on the test itself, not by beta quantiles."""
    for events, procedures in pairs(1000, 200_000):
        test = stats.binomtest(events, procedures)
        for ours, method in ((clopper_pearson, "exact"), (wilson, "wilson")):
            theirs = test.proportion_ci(0.95, method=method)
            assert ours(events, procedures) == pytest.approx(tuple(theirs), rel=1e-7, abs=1e-12), (
                events,
                procedures,
                method,
            )


def test_intervals_match_statsmodels_on_a_thousand_random_pairs() -> None:
    """statsmodels.stats.proportion.proportion_confint, methods beta (Clopper-Pearson) and wilson, and
    statsmodels.stats.rates.confint_poisson, method exact-c (Garwood)."""
    for events, procedures in pairs(1000, 200_000):
        for ours, method in ((clopper_pearson, "beta"), (wilson, "wilson")):
            low, high = proportion_confint(events, procedures, 0.05, method)
            # where nothing or everything happened it leaves the ends open
            theirs = (0.0 if np.isnan(low) else low, 1.0 if np.isnan(high) else high)
            assert ours(events, procedures) == pytest.approx(theirs, rel=1e-9, abs=1e-12), (
                events,
                procedures,
            )
        low, high = confint_poisson(events, 1, method="exact-c", alpha=0.05)
        theirs = (0.0 if np.isnan(low) else low, high)
        assert garwood(events) == pytest.approx(theirs, rel=1e-9, abs=1e-12), events


def test_exact_limits_leave_a_fortieth_in_each_tail() -> None:
    """What the limits mean: at each, a count as extreme as the one seen has chance 0.025."""
    for events, procedures in pairs(200, 1_000_000):
        low, high = clopper_pearson(events, procedures)
        if events > 0:
            assert stats.binom.sf(events - 1, procedures, low) == pytest.approx(0.025, rel=1e-6)
        if events < procedures:
            assert stats.binom.cdf(events, procedures, high) == pytest.approx(0.025, rel=1e-6)
        low, high = garwood(events)
        assert stats.poisson.cdf(events, high) == pytest.approx(0.025, rel=1e-6)
        if events > 0:
            assert stats.poisson.sf(events - 1, low) == pytest.approx(0.025, rel=1e-6)


def test_poisson_limits_match_garwoods() -> None:
    table = RATES["poisson"]
    for count, limits in zip(table["counts"], table["limits"], strict=True):
        assert garwood(count) == pytest.approx(limits, abs=6e-5)
    low, high = garwood(14)
    assert (low / 400, high / 400) == pytest.approx((0.019135, 0.058724), abs=6e-7)


def test_rule_of_three() -> None:
    table = RATES["rule_of_three"]
    rows = zip(table["procedures"], table["approximate"], table["exact_one_sided"], strict=True)
    for procedures, approximate, exact in rows:
        rate = rate_of(0, procedures)
        assert rate.rule_of_three == pytest.approx(1000 * approximate, abs=6e-4)
        assert rate.upper95_one_sided == pytest.approx(1000 * exact, abs=6e-4)
    assert rate_of(1, 1000).rule_of_three is None
    assert rate_of(1, 1000).upper95_one_sided is None
    assert rate_of(0, 2).rule_of_three == 1000.0


def test_how_many_without_an_event_to_be_sure_of_one_in_a_thousand() -> None:
    """2,995 event-free procedures: one-sided, 95 %."""
    assert (rate_of(0, 2994).upper95_one_sided or 0) > 1.0 > (rate_of(0, 2995).upper95_one_sided or 9)


@pytest.mark.parametrize("row", range(len(RATES["differences"]["cases"])))
def test_differences_match_newcombes_method_10(row: int) -> None:
    limits = compare(*RATES["differences"]["cases"][row]).difference95
    assert limits == pytest.approx(RATES["differences"]["limits"][row], abs=6e-5)


@pytest.mark.parametrize("row", range(len(RATES["fisher"]["tables"])))
def test_fisher_matches_published_tables(row: int) -> None:
    a, b, c, d = RATES["fisher"]["tables"][row]
    expected = RATES["fisher"]["two_sided"][row]
    assert compare(a, a + b, c, c + d).p_two_sided == pytest.approx(expected, rel=2e-5, abs=6e-7)


def test_fisher_matches_scipy_on_random_tables() -> None:
    """Not beyond 20,000 each: scipy's P for larger tables needs its own tolerance for ties."""
    for (x, n), (y, m) in zip(pairs(400, 20_000), pairs(400, 20_000), strict=True):
        theirs = float(stats.fisher_exact([[x, n - x], [y, m - y]]).pvalue)
        assert compare(x, n, y, m).p_two_sided == pytest.approx(theirs, rel=1e-6, abs=1e-12), (x, n, y, m)


def test_fisher_keeps_its_level_where_there_is_no_difference() -> None:
    """An exact test is allowed to be wrong less often than 1 in 20, never more often."""
    chances = [stats.binom.pmf(np.arange(n + 1), n, 0.1) for n in (40, 60)]
    wrong = sum(
        chances[0][x] * chances[1][y]
        for x in range(20)
        for y in range(25)
        if compare(x, 40, y, 60).p_two_sided <= 0.05
    )
    assert 0.005 < wrong <= 0.05


def test_small_numbers_are_said() -> None:
    assert rate_of(21, 1000).small_number == ()
    assert "unstable" in rate_of(20, 1000).small_number[0]
    assert "unstable" in rate_of(10, 1000).small_number[0]
    assert "not reliable" in rate_of(9, 1000).small_number[0]
    assert "upper limit" in rate_of(0, 1000).small_number[0]
    assert "30 procedures" in rate_of(21, 29).small_number[0]
    assert len(rate_of(2, 29).small_number) == 2


@pytest.mark.parametrize(
    ("events", "procedures", "field", "why"),
    [
        (0, 0, "procedures", "at least one procedure"),
        (5, 4, "events", "more than the 4 procedures"),
        (-1, 4, "events", "must lie from 0"),
        (1, -4, "procedures", "must lie from 0"),
        (1.5, 4, "events", "whole number"),
        (1, 4.0, "procedures", "whole number"),
        (True, 4, "events", "whole number"),
        ("3", 4, "events", "whole number"),
        (1, 10**9 + 1, "procedures", "must lie from 0 to 1000000000"),
        (math.nan, 4, "events", "whole number"),
        (None, 4, "events", "whole number"),
    ],
)
def test_counts_that_make_no_rate_are_refused(events: Any, procedures: Any, field: str, why: str) -> None:
    for attempt in (rate_of, clopper_pearson, wilson):
        with pytest.raises(InputError, match=why) as caught:
            attempt(events, procedures)
        assert caught.value.field == field


def test_the_other_rate_is_named_in_its_fault() -> None:
    with pytest.raises(InputError) as caught:
        compare(1, 10, 5, 4)
    assert caught.value.field == "other_events"


def test_the_largest_counts_are_answered() -> None:
    rate = rate_of(10**8, 10**9)
    assert rate.exact95 == pytest.approx(rate.wilson95, rel=1e-6)
    assert rate_of(10**9, 10**9).exact95[1] == 1000.0
