"""The offset of the mid-line from corrections: against simulation, where the true offset is known.

No published data of this kind exists, so what is held is the method: an interval of 95 % holds the truth
about as often as it says, however many poses were left unchanged, and the plain mean of the corrections
doesn't.
"""

import numpy as np
import pytest
from scipy.stats import norm

from chinrest.model.rates.offset_fit import Corrected, _log_between, fit_offset

OFFSETS = (-6.0, -3.0, 0.0, 3.0, 6.0, 9.0, 12.0)
# three classes of face: degrees more for each mm further forward
SLOPES = (0.7, 0.9, 1.3)


def simulated(
    random: np.random.Generator,
    offset_mm: float,
    poses: int,
    scatter_deg: float = 5.0,
    *,
    less_noted: float = 1.0,
) -> list[Corrected]:
    """Turns needed about the model's; what is within half a degree is taken as advised and says nothing."""
    found = []
    for slope in SLOPES:
        needed = random.normal(slope * offset_mm, scatter_deg, poses)
        noted = np.where(needed < 0, random.random(poses) < less_noted, True)
        values, counts = np.unique(np.rint(needed[noted]).astype(int), return_counts=True)
        shifts = tuple(slope * at for at in OFFSETS)
        found += [
            Corrected(shift_deg=shifts, off_deg=int(off), n=int(n))
            for off, n in zip(values, counts, strict=True)
            if off != 0
        ]
    return found


@pytest.mark.parametrize("true_mm", [-2.0, 0.0, 4.0])
def test_the_interval_holds_the_truth_about_as_often_as_it_says(true_mm: float) -> None:
    random = np.random.default_rng(31)
    held = 0
    for _ in range(200):
        both = fit_offset(simulated(random, true_mm, 40), OFFSETS).both
        assert both is not None
        low, high = both.interval95
        held += (low is None or low <= true_mm) and (high is None or true_mm <= high)
    assert 0.90 <= held / 200 <= 0.99


def test_many_corrections_find_the_offset_and_the_scatter() -> None:
    both = fit_offset(simulated(np.random.default_rng(32), 4.0, 20_000), OFFSETS).both
    assert both is not None
    assert both.offset_mm == pytest.approx(4.0, abs=0.25)
    assert both.scatter_deg == pytest.approx(5.0, rel=0.1)
    low, high = both.interval95
    assert low is not None
    assert high is not None
    assert low < both.offset_mm < high, "never a point, however much is known"


def test_small_scatter_is_where_truncation_matters() -> None:
    """With a scatter of 1 degree most poses are left unchanged; the mean of what is noted is then far off."""
    random = np.random.default_rng(33)
    corrected = simulated(random, 0.7, 20_000, 1.0)
    both = fit_offset(corrected, OFFSETS).both
    assert both is not None
    assert both.offset_mm == pytest.approx(0.7, abs=0.1)
    of_one_slope = [one for one in corrected if one.shift_deg[-1] == SLOPES[0] * 12.0]
    mean = sum(one.off_deg * one.n for one in of_one_slope) / sum(one.n for one in of_one_slope)
    assert abs(mean / SLOPES[0] - 0.7) > 0.3


def test_what_was_left_unchanged_changes_nothing() -> None:
    random = np.random.default_rng(34)
    corrected = simulated(random, 3.0, 300)
    unchanged = Corrected(shift_deg=corrected[0].shift_deg, off_deg=0, n=10**6)
    assert fit_offset([*corrected, unchanged], OFFSETS) == fit_offset(corrected, OFFSETS)


def test_less_that_is_seldom_noted_is_seen_by_the_two_estimates_parting() -> None:
    random = np.random.default_rng(35)
    honest = fit_offset(simulated(random, 1.0, 4000), OFFSETS)
    assert honest.agree
    assert honest.from_more is not None
    low, high = honest.from_more.interval95
    assert low is None or low <= 1.0
    assert high is None or high >= 1.0
    silent = fit_offset(simulated(random, 1.0, 4000, less_noted=0.2), OFFSETS)
    assert silent.agree is False


def test_nothing_is_estimated_from_little_or_from_what_cannot_tell() -> None:
    random = np.random.default_rng(36)
    assert fit_offset([], OFFSETS).both is None
    few = [Corrected(shift_deg=OFFSETS, off_deg=3, n=19)]
    assert fit_offset(few, OFFSETS).both is None
    flat = [Corrected(shift_deg=(0.0,) * 7, off_deg=int(off), n=50) for off in random.integers(1, 9, 8)]
    assert fit_offset(flat, OFFSETS).both is None


def test_an_end_beyond_what_was_tried_is_said() -> None:
    far = fit_offset(simulated(np.random.default_rng(37), 14.0, 200), OFFSETS).both
    assert far is not None
    assert far.interval95[1] is None


def test_chances_in_the_far_tails_are_scipys() -> None:
    low, high = np.array([-9.0, -0.5, 8.0, 20.0]), np.array([-8.0, 0.5, 9.0, 21.0])
    there = np.log(
        [*(norm.cdf(high[:2]) - norm.cdf(low[:2])), *(norm.sf(low[2:]) - norm.sf(high[2:]))],
    )
    assert _log_between(low, high) == pytest.approx(there, rel=1e-9)
    # beyond what a float can hold, in either tail: by the leading term of the asymptotic series of the tail
    # (Abramowitz and Stegun 1964, 26.2.12, from memory), good to 1 part in 40 squared
    far = -0.5 * 40.0**2 - np.log(40.0) - 0.5 * np.log(2 * np.pi)
    found = _log_between(np.array([40.0, -42.0]), np.array([42.0, -40.0]))
    assert found == pytest.approx([far, far], abs=2e-3)


def test_an_offset_that_is_too_far_off_to_compute_is_not_the_likeliest() -> None:
    """Larger turns alone, with a table in which the mid-line far back needs 25 degrees less."""
    table = (-25.0, -12.0, 0.0, 5.0, 9.0, 13.0, 17.0)
    larger = [Corrected(shift_deg=table, off_deg=off, n=10) for off in range(1, 7)]
    for found in (fit_offset(larger, OFFSETS).both, fit_offset(larger, OFFSETS).from_more):
        assert found is not None
        assert 0 < found.offset_mm < 4


@pytest.mark.parametrize(("off", "n"), [(1, 20), (3, 500), (-90, 25), (90, 25)])
def test_one_value_over_and_over_gives_an_estimate_that_does_not_claim_too_much(off: int, n: int) -> None:
    """Degenerate data: no scatter to be seen, or a turn that no offset explains."""
    shifts = tuple(0.9 * at for at in OFFSETS)
    both = fit_offset([Corrected(shift_deg=shifts, off_deg=off, n=n)], OFFSETS).both
    assert both is not None
    low, high = both.interval95
    assert (-np.inf if low is None else low) < both.offset_mm + 0.1
    assert (np.inf if high is None else high) > both.offset_mm - 0.1
    if abs(off) == 90:
        assert (low if off < 0 else high) is None
