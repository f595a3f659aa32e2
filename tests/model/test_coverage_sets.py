"""What holds of any set of fields: unions, overlaps, joins, gaps, the stated error; and what is refused."""

import math
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chinrest.model.errors import InputError
from chinrest.model.fields.coverage import Coverage, check_field, coverage, joins_of
from chinrest.model.fields.phone import random_field
from chinrest.model.retina.projection import direction, ring, to_map, to_place
from chinrest.model.retina.regions import Cone, azimuths_deg, region_of, regions

FIELDS = st.tuples(st.floats(10.0, 200.0), st.floats(-45.0, 45.0), st.floats(-30.0, 30.0))
SETS = st.lists(FIELDS, min_size=1, max_size=6)
REGIONS = st.sampled_from(["retina", "posterior_pole", "midperiphery", "far_periphery", "seven_fields"])
ERROR = 0.005
"""The stated error may be at most this fraction of the region."""


def slack(*found: Coverage) -> float:
    return sum(each.error_mm2 for each in found)


@settings(deadline=None)
@given(fields=SETS, name=REGIONS)
def test_a_union_lies_between_its_largest_field_and_their_sum(fields: list[Cone], name: str) -> None:
    found = coverage(fields, region_of(name))
    assert max(found.field_mm2) - 1e-6 <= found.area_mm2 <= sum(found.field_mm2) + 1e-6
    assert 0.0 <= found.retina_fraction <= 1.0
    assert -1e-9 <= found.region_fraction <= 1.0 + 1e-9
    assert found.region_covered_mm2 <= min(found.area_mm2, found.region_mm2) + 1e-6
    assert found.region_fraction <= found.region_reachable_fraction + 1e-9


@settings(deadline=None)
@given(fields=SETS, name=REGIONS)
def test_what_is_covered_and_what_is_left_are_the_region(fields: list[Cone], name: str) -> None:
    found = coverage(fields, region_of(name))
    left = sum(gap.area_mm2 for gap in found.gaps)
    # threads of less than 0.05 mm^2 are no gaps
    assert left + found.region_covered_mm2 == pytest.approx(found.region_mm2, abs=0.3)
    assert [gap.area_mm2 for gap in found.gaps] == sorted((g.area_mm2 for g in found.gaps), reverse=True)


@settings(deadline=None)
@given(one=FIELDS, other=FIELDS)
def test_two_fields_overlap_by_what_their_union_lacks(one: Cone, other: Cone) -> None:
    found = coverage([one, other])
    shared = sum(found.field_mm2) - found.area_mm2
    assert found.overlap[0][1] == pytest.approx(shared, abs=1e-5)
    assert found.overlap == [list(row) for row in zip(*found.overlap, strict=True)]
    assert [found.overlap[i][i] for i in range(2)] == found.field_mm2


@settings(deadline=None)
@given(fields=SETS, another=FIELDS, name=REGIONS)
def test_one_more_field_never_shows_less(fields: list[Cone], another: Cone, name: str) -> None:
    few, more = coverage(fields, region_of(name)), coverage([*fields, another], region_of(name))
    assert more.area_mm2 >= few.area_mm2 - 1e-6
    assert more.region_fraction >= few.region_fraction - 1e-9


@settings(deadline=None)
@given(field=FIELDS, wider=st.floats(0.0, 60.0))
def test_a_wider_field_shows_all_that_a_narrower_one_did(field: Cone, wider: float) -> None:
    wide = (min(200.0, field[0] + wider), *field[1:])
    found = coverage([field, wide])
    assert found.area_mm2 == pytest.approx(found.field_mm2[1], abs=slack(found))


@settings(deadline=None)
@given(fields=SETS)
def test_the_order_of_fields_does_not_matter(fields: list[Cone]) -> None:
    assert coverage(fields).area_mm2 == pytest.approx(coverage(fields[::-1]).area_mm2, abs=1e-6)


def test_the_stated_error_is_small_and_holds() -> None:
    """Against outlines of the same fields drawn with eight times the corners, by the shoelace formula."""
    rng = np.random.default_rng(5)
    for _ in range(60):
        field = random_field(rng.random(3).tolist())
        around = ring(direction(*field[1:]), field[0] / 2.0, azimuths_deg(5760))
        x, y = to_map(to_place(around)).T
        fine = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0
        found = coverage([field], region_of("posterior_pole"))
        if math.hypot(*field[1:]) + field[0] / 2.0 < 95.0:  # nothing of it is cut off by the last ray
            assert found.area_mm2 == pytest.approx(fine, abs=found.error_mm2), field


def test_the_stated_error_is_at_most_half_a_per_cent_of_any_region_for_a_dozen_fields() -> None:
    rng = np.random.default_rng(6)
    for region in regions().values():
        for _ in range(6):
            fields = [random_field(rng.random(3).tolist()) for _ in range(12)]
            found = coverage(fields, region)
            assert 0.0 < found.error_mm2 <= ERROR * found.region_mm2, (region.id, found.error_mm2)


def best_bottleneck(share: list[list[float]]) -> float:
    """By trying every order of joining: the greatest least fraction that any way of joining has."""
    best = 0.0
    for order in permutations(range(1, len(share))):
        least, reached = 1.0, [0]
        for new in order:
            least = min(least, max(share[new][old] for old in reached))
            reached.append(new)
        best = max(best, least)
    return best


@settings(max_examples=40, deadline=None)
@given(fields=st.lists(FIELDS, min_size=2, max_size=5))
def test_joins_are_the_strongest_there_are(fields: list[Cone]) -> None:
    found = coverage(fields)
    count = len(fields)
    share = [[1.0] * count for _ in range(count)]
    for i, j in combinations(range(count), 2):
        share[i][j] = share[j][i] = found.overlap[i][j] / min(found.field_mm2[i], found.field_mm2[j])
    assert found.least_join_overlap == pytest.approx(best_bottleneck(share), abs=1e-9)
    assert found.joins[0] is None
    for new, join in enumerate(found.joins[1:], 1):
        assert join is not None
        assert join.overlap_fraction == pytest.approx(min(1.0, share[join.to][new]), abs=1e-9)
    # every field leads back to the first
    for new in range(1, count):
        at, steps = new, 0
        while at and steps <= count:
            join = found.joins[at]
            assert join is not None
            at, steps = join.to, steps + 1
        assert at == 0


def test_a_single_field_has_nothing_to_join() -> None:
    found = coverage([(50.0, 0.0, 0.0)])
    assert (found.joins, found.least_join_overlap) == ([None], None)
    assert joins_of([[1.0]]) == [None]


def test_fields_apart_are_joined_by_nothing() -> None:
    found = coverage([(30.0, -30.0, 0.0), (30.0, 30.0, 0.0)])
    assert found.least_join_overlap == 0.0


def test_a_field_within_a_ring_of_gaps_leaves_a_gap_with_a_hole() -> None:
    found = coverage([(50.0, 0.0, 0.0)])
    (gap,) = found.gaps
    assert len(gap.holes) == 1
    assert gap.area_mm2 == pytest.approx(found.retina_mm2 - found.area_mm2, abs=1e-6)


@pytest.mark.parametrize(
    ("field", "why"),
    [
        ((200.1, 0.0, 0.0), "above 0 to 200 deg"),
        ((0.0, 0.0, 0.0), "above 0 to 200 deg"),
        ((-30.0, 0.0, 0.0), "above 0 to 200 deg"),
        ((math.nan, 0.0, 0.0), "above 0 to 200 deg"),
        ((50.0, 60.5, 0.0), "eye's range of gaze, -60 to 60 deg to either side"),
        ((50.0, 0.0, -61.0), "eye's range of gaze, -60 to 60 deg up or down"),
        ((50.0, math.inf, 0.0), "eye's range of gaze"),
    ],
)
def test_what_no_eye_and_no_optic_has_is_refused_with_the_range(field: Cone, why: str) -> None:
    with pytest.raises(InputError, match=why) as refused:
        coverage([(50.0, 0.0, 0.0), field])
    assert refused.value.field == "field"
    check_field((200.0, 60.0, -60.0))


@pytest.mark.parametrize("count", [0, 201])
def test_no_fields_and_too_many_are_refused(count: int) -> None:
    with pytest.raises(InputError, match="range 1 to 200"):
        coverage([(50.0, 0.0, 0.0)] * count)
