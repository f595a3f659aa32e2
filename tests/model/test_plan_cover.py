"""The fewest candidates that cover, against exhaustive search and against published covers of a disc."""

from itertools import combinations
from time import monotonic
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from chinrest.model.fields import grown
from chinrest.model.fields.cover import COST_GAP, Cover, Question, fewest
from chinrest.model.retina.projection import direction

Array = NDArray[np.floating[Any]]
# Least radius of n equal discs that cover the unit disc: Friedman's and Weisstein's tables (MathWorld, "Disk
# Covering Problem": Neville 1915, Bezdek 1983 for n = 5, 6; Wikipedia "Disk covering problem"), as in
# fixtures of published values; n = 7 to 10 are also 1 / (1 + 2 cos(2 pi / (n - 1))).
LEAST_RADIUS = {
    1: 1.0,
    2: 1.0,
    3: 0.866025,
    4: 0.707107,
    5: 0.609383,
    6: 0.555905,
    7: 0.5,
    8: 0.445042,
    9: 0.414214,
    10: 0.394931,
}
UNIT_DEG = 1.0
"""The disc's radius as an angle: small enough that a cone's outline on the sphere is a circle."""
CELL, STEP, RIM = 0.09, 0.09, 0.04
"""Between cells, between gazes, and between the cells on the rim; of the unit disc."""


def square(step: float, reach: float) -> Array:
    """Points of a square grid, `step` apart, within a disc of radius `reach`; (N, 2)."""
    line = np.arange(-reach // step, reach // step + 1) * step
    points = np.stack(np.meshgrid(line, line), axis=-1).reshape(-1, 2)
    return np.asarray(points[np.hypot(*points.T) <= reach + 1e-9])


def discs(radius: float) -> Question:
    """Cover every cell of the unit disc by cones of this radius on a grid of gazes, joined or not."""
    around = np.arange(0.0, 2.0 * np.pi, RIM)
    rim = np.stack([np.cos(around), np.sin(around)], axis=-1)
    cells, gazes = np.concatenate([square(CELL, 1.0), rim]) * UNIT_DEG, square(STEP, 1.0) * UNIT_DEG
    cosines = direction(cells[:, 0], cells[:, 1]) @ direction(gazes[:, 0], gazes[:, 1]).T
    # near 1 a cosine has too few digits: the chord has them
    chord = np.sqrt(np.maximum(0.0, 2.0 - 2.0 * cosines))
    cover = chord <= 2.0 * np.sin(np.radians(radius * UNIT_DEG) / 2.0) + 1e-12
    count = len(gazes)
    return Question(
        cover, np.ones(len(cells)), np.ones((count, count), bool), np.zeros(count), float(len(cells))
    )


@pytest.mark.parametrize("count", LEAST_RADIUS)
def test_covers_of_a_disc_have_the_published_least_radius(count: int) -> None:
    """Cells and gazes are discrete. No point of the disc is farther from a cell than half a square's
    diagonal (from the nearest of the rim a little more), so discs of radius r that cover all cells cover
    the disc with r and that. Any cover's centres lie within half a step's diagonal of a gaze."""
    half_cell, half_step = float(np.hypot(CELL / 2.0**0.5, RIM / 2.0)), STEP / 2.0**0.5
    larger = fewest(discs(LEAST_RADIUS[count] + half_step + 1e-4), 4.0)
    assert larger is not None
    assert len(larger.chosen) <= count
    smaller = fewest(discs(LEAST_RADIUS[count] - half_cell - 1e-4), 4.0)
    assert smaller is not None
    fewer = max((n for n, radius in LEAST_RADIUS.items() if radius == LEAST_RADIUS[count]), default=count)
    assert len(smaller.chosen) > fewer


def connected(chosen: tuple[int, ...], join: NDArray[np.bool_]) -> bool:
    reached, left = {chosen[0]}, set(chosen[1:])
    while step := {b for b in left if any(join[a, b] for a in reached)}:
        reached |= step
        left -= step
    return not left


def exhaustive(question: Question) -> tuple[int, float] | None:
    """(fewest, least cost among them) by trying every set, the smaller first."""
    candidates = question.cover.shape[1]
    for count in range(1, candidates + 1):
        costs = [
            float(question.cost[list(chosen)].sum())
            for chosen in combinations(range(candidates), count)
            if question.weight[question.cover[:, list(chosen)].any(axis=1)].sum() >= question.need - 1e-9
            and connected(chosen, question.join)
        ]
        if costs:
            return count, min(costs)
    return None


@st.composite
def small_questions(draw: st.DrawFn) -> Question:
    """Discs on a small grid, or any columns at all; joins by distance, so that covers often stand apart."""
    seed = draw(st.integers(0, 2**32 - 1))
    random = np.random.default_rng(seed)
    cells = random.uniform(-1.0, 1.0, (draw(st.integers(4, 30)), 2))
    gazes = random.uniform(-1.2, 1.2, (draw(st.integers(2, 11)), 2))
    apart = np.linalg.norm(cells[:, None] - gazes[None], axis=2)
    cover = apart <= draw(st.floats(0.3, 1.2))
    between = np.linalg.norm(gazes[:, None] - gazes[None], axis=2)
    join = between <= draw(st.floats(0.3, 1.6))
    weight = random.uniform(0.5, 2.0, len(cells))
    need = draw(st.floats(0.3, 1.0)) * float(weight.sum())
    return Question(cover, weight, join, random.uniform(0.0, 3.0, len(gazes)), need)


@pytest.mark.parametrize("most_sets", [grown.MOST_SETS, 0], ids=["sets are grown", "by the program alone"])
@settings(deadline=None, max_examples=120)
@given(question=small_questions())
def test_exhaustive_search_agrees(question: Question, most_sets: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(grown, "MOST_SETS", most_sets)
        patch.setattr(grown, "CROWDED", 1.0)  # small as they are, all can be grown
        found, wanted = fewest(question, 20.0), exhaustive(question)
    if wanted is None:
        assert found is None
        return
    assert found is not None
    assert (len(found.chosen), found.lower_bound, found.proved) == (wanted[0], wanted[0], True)
    check(question, found)
    assert found.cost_proved
    gap = COST_GAP if most_sets == 0 else 0.0
    assert question.cost[found.chosen].sum() <= wanted[1] * (1.0 + gap) + 1e-4


def test_too_many_sets_or_no_time_is_said() -> None:
    """Nothing is called proved that was not looked through; what was met by then still stands as a cover."""
    question = random_question(np.random.default_rng(7), cells=60, gazes=24)
    whole = grow(question, 4, np.inf)
    assert whole.whole
    assert whole.chosen is not None
    cheapest = float(question.cost[whole.chosen].sum())
    assert grow(question, 4, cheapest) == grown.Grown(None, whole=True)
    assert grow(question, 4, cheapest + 1e-6) == whole
    assert not grow(question, 4, np.inf, seconds=-1.0).whole


def random_question(random: np.random.Generator, cells: int, gazes: int) -> Question:
    at, aim = random.uniform(-1.0, 1.0, (cells, 2)), random.uniform(-1.0, 1.0, (gazes, 2))
    cover = np.linalg.norm(at[:, None] - aim[None], axis=2) <= 0.7
    join = np.linalg.norm(aim[:, None] - aim[None], axis=2) <= 0.8
    return Question(cover, np.ones(cells), join, random.uniform(0.0, 3.0, gazes), 0.8 * cells)


def grow(question: Question, count: int, below: float, seconds: float = 60.0) -> grown.Grown:
    cover, weight, join, cost, need = question
    return grown.cheapest_joined(cover, weight, join, need, count, cost, below, monotonic() + seconds)


def check(question: Question, found: Cover) -> None:
    """It covers the need, and is in one piece."""
    assert question.weight[question.cover[:, found.chosen].any(axis=1)].sum() >= question.need - 1e-6
    assert connected(tuple(found.chosen), question.join)


@settings(deadline=None, max_examples=60)
@given(question=small_questions(), more=st.floats(0.01, 0.5))
def test_more_asked_never_needs_fewer(question: Question, more: float) -> None:
    total = float(question.weight[question.cover.any(axis=1)].sum())
    less = question._replace(need=min(question.need, total))
    found = fewest(less, 20.0)
    further = fewest(less._replace(need=less.need + more * (total - less.need)), 20.0)
    if found is None:
        assert further is None
    elif further is not None and found.proved and further.proved:
        assert len(further.chosen) >= len(found.chosen)


def test_the_same_question_has_the_same_answer() -> None:
    question = discs(0.8)
    assert fewest(question, 20.0) == fewest(question, 20.0)


def test_covers_that_cannot_be_joined_are_none() -> None:
    cover = np.eye(2, dtype=bool)
    apart = Question(cover, np.ones(2), np.eye(2, dtype=bool), np.zeros(2), 2.0)
    assert fewest(apart) is None
    together = fewest(apart._replace(join=np.ones((2, 2), dtype=bool)))
    assert together is not None
    assert together.chosen == [0, 1]
