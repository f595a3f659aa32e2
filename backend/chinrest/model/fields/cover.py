"""The fewest candidates that cover enough and are joined, exactly.

It knows nothing of eyes: candidates are columns of a boolean matrix, cells its rows. A linear program says
how many it takes at least; from there up, joined sets are grown (`grown`). Where these become too many, a
mixed-integer program goes on, solved by HiGHS, the solver in SciPy: that the chosen are joined is asked only
where an answer fails it, and each round adds, for a group that stands apart, that one of its members needs
one of its neighbours.
"""

import time
from collections.abc import Sequence
from math import ceil
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import csr_matrix, hstack, identity, vstack

from .grown import Grown, cheapest_joined
from .joins import components, link, neighbours, side_of
from .search import ROUNDS, cheaper, exchange

Mask = NDArray[np.bool_]
Array = NDArray[np.floating[Any]]
ROUNDING = 1e-9
KEPT_FOR_PROGRAM = 0.3
"""Part of the time that is kept for the program."""
COST_GAP = 0.02
"""How near the least total cost is to be proved: two per cent, well below what a person could feel."""


FEW_ROUNDS = 40
"""Of exchanging, where nothing is proved of the answer."""


class Question(NamedTuple):
    """What is to be covered. `cover` (cells, candidates), `weight` (cells), `join` (candidates, candidates),
    `cost` (candidates); `need`: least total weight of the cells covered."""

    cover: Mask
    weight: Array
    join: Mask
    cost: Array
    need: float


class Cover(NamedTuple):
    """Candidates chosen. `lower_bound`: no fewer can do it. `proved`: as many as the bound, so none fewer.

    `cost_proved`: the total cost is within COST_GAP of the least among covers of this count.
    """

    chosen: list[int]
    lower_bound: int
    proved: bool
    cost_proved: bool


class _Program:
    """The program over the distinct cells, and the cuts found so far. Variables: candidates, then cells."""

    def __init__(self, question: Question) -> None:
        patterns, weight = merged(question.cover, question.weight)
        self.candidates, self.cells = question.cover.shape[1], len(weight)
        self.join, self.patterns, self.weight = question.join, patterns, weight
        self.need = question.need
        covered = hstack([csr_matrix(patterns.astype(float)), -identity(self.cells)])
        enough = csr_matrix(np.r_[np.zeros(self.candidates), weight])
        self.rows = vstack([covered, enough]).tocsr()
        self.least = np.r_[np.zeros(self.cells), question.need * (1.0 - ROUNDING)]
        self.cuts: list[Array] = []

    def weight_of(self, chosen: Sequence[int]) -> float:
        """Total weight that these candidates cover."""
        return float(self.weight[self.patterns[:, list(chosen)].any(axis=1)].sum())

    def join_each(self) -> None:
        """More than one is needed: each that is chosen has a neighbour that is."""
        for field in range(self.candidates):
            self._cut(field, self.join[field] & (np.arange(self.candidates) != field))

    def part(self, groups: list[list[int]], fewest: int) -> None:
        """Forbids each group that stands apart. A set that cannot cover enough by itself, or is smaller than
        the fewest that can, is never the whole answer; so whichever of it is chosen, a neighbour is too."""
        for group in groups:
            others = [field for other in groups if other is not group for field in other]
            side = side_of(self.join, group, others)
            if self.weight_of(side) >= self.need * (1.0 - ROUNDING) and len(group) < fewest:
                side = group
            around = neighbours(self.join, side)
            for field in group:
                self._cut(field, around)

    def exchanged(self, start: Sequence[int], rounds: int = ROUNDS) -> list[int] | None:
        """A joined cover of as many as `start` has, if exchanging one at a time leads to one."""
        return exchange(self.patterns, self.weight, self.join, self.need * (1.0 - ROUNDING), start, rounds)

    def cheapened(self, start: list[int], cost: Array) -> list[int]:
        """The same cover or a cheaper one of as many, by exchanging one at a time."""
        return cheaper(self.patterns, self.weight, self.join, self.need * (1.0 - ROUNDING), start, cost)

    def grown(self, count: int, cost: Array, below: float, ends: float) -> Grown:
        """Of joined covers of this count, the cheapest that costs less than `below`."""
        need = self.need * (1.0 - ROUNDING)
        return cheapest_joined(self.patterns, self.weight, self.join, need, count, cost, below, ends)

    def relaxed(self) -> int:
        """No fewer than this: the linear program, in which a candidate may be taken in part."""
        found = self._run(np.ones(self.candidates), None, 1, 0.0, 30.0, whole_numbers=False)
        return ceil(found.fun - 1e-6) if found.status == 0 else 1

    def _cut(self, field: int, around: Mask) -> None:
        row = np.zeros(self.candidates)
        row[around] = 1.0
        row[field] = -1.0
        self.cuts.append(row)

    def solve(
        self, cost: Array, count: int | None, least_count: int, gap: float, seconds: float
    ) -> tuple[list[int] | None, float, bool]:
        """(chosen, proved lower bound of the cost, solved to the end); chosen None where none was found."""
        result = self._run(cost, count, least_count, gap, seconds)
        if result.status == 2:  # none exists
            return None, np.inf, True
        chosen = (
            None if result.x is None else [int(i) for i in np.flatnonzero(result.x[: self.candidates] > 0.5)]
        )
        bound = -np.inf if result.mip_dual_bound is None else float(result.mip_dual_bound)
        return chosen, bound, result.status == 0

    def _run(
        self,
        cost: Array,
        count: int | None,
        least_count: int,
        gap: float,
        seconds: float,
        whole_numbers: bool = True,
    ) -> OptimizeResult:
        rows, least = self.rows, self.least
        if self.cuts:
            cuts = csr_matrix(np.array(self.cuts))
            rows = vstack([rows, hstack([cuts, csr_matrix((cuts.shape[0], self.cells))])]).tocsr()
            least = np.r_[least, np.zeros(cuts.shape[0])]
        number = csr_matrix(np.r_[np.ones(self.candidates), np.zeros(self.cells)])
        low, high = (least_count, np.inf) if count is None else (count, count)
        return milp(
            np.r_[cost, np.zeros(self.cells)],
            constraints=[LinearConstraint(rows, least, np.inf), LinearConstraint(number, low, high)],
            integrality=np.r_[np.full(self.candidates, float(whole_numbers)), np.zeros(self.cells)],
            bounds=Bounds(0.0, 1.0),
            options={"time_limit": max(0.1, seconds), "mip_rel_gap": gap},
        )


def merged(cover: Mask, weight: Array) -> tuple[Mask, Array]:
    """Cells that the same candidates cover, as one with their weights together; cells of none left out."""
    packed = np.packbits(cover, axis=1)
    _, first, number = np.unique(packed, axis=0, return_index=True, return_inverse=True)
    total = np.bincount(number.ravel(), weights=weight, minlength=len(first))
    kept = cover[first].any(axis=1)
    return cover[first][kept], np.asarray(total[kept], dtype=float)


def fewest(question: Question, seconds: float = 8.0) -> Cover | None:
    """The fewest joined candidates that cover the need, at least total cost; None where none can.

    `seconds` is a net: when time is up the best cover found stands with the bound proved so far. Without it
    the same question has the same answer; ties go by the order of the candidates.
    """
    ends = time.monotonic() + seconds
    one = _single(question)
    if one is not None:
        return Cover([one], 1, True, True)
    program = _Program(question)
    if program.weight.sum() < question.need * (1.0 - ROUNDING):
        return None
    program.join_each()
    start = _greedy(program)
    if start is None:
        return None
    least = max(2, program.relaxed())
    ends_grown = ends - KEPT_FOR_PROGRAM * seconds
    best, bound, cheapest = _grown(program, question.cost, _fewer(program, start), least, ends_grown)
    if cheapest:
        return Cover(best, bound, True, True)
    while len(best) > bound:
        left = ends - time.monotonic()
        chosen, proved, _ = program.solve(np.ones(program.candidates), None, bound, 0.0, left * 0.6)
        if proved == np.inf:
            return None
        bound = max(bound, ceil(proved - 1e-6)) if np.isfinite(proved) else bound
        if chosen is not None:
            best = _better(program, best, chosen)
        groups = [] if chosen is None else components(program.join, chosen)
        if len(groups) < 2 or ends <= time.monotonic():
            break
        program.part(groups, bound)
    chosen, cheapest = _cheapest(program, question.cost, best, bound, ends)
    return Cover(chosen, bound, len(chosen) <= bound, cheapest)


def joined_cover(question: Question) -> Cover | None:
    """A joined cover of few candidates, without the clock and the proof of `fewest`: the same question has
    the same answer however busy the machine is. None where none exists."""
    one = _single(question)
    if one is not None:
        return Cover([one], 1, True, True)
    program = _Program(question)
    start = _greedy(program)
    if start is None:
        return None
    best = _fewer(program, start, FEW_ROUNDS)
    chosen = program.cheapened(best, _with_ties(question.cost))
    bound = max(2, program.relaxed())
    return Cover(chosen, bound, len(chosen) <= bound, False)


def _grown(
    program: _Program, cost: Array, best: list[int], bound: int, ends: float
) -> tuple[list[int], int, bool]:
    """(best cover known, no fewer than this can do it, the best is proved to be the cheapest of so many)."""
    tie = _with_ties(cost)
    for count in range(bound, len(best) + 1):
        known = program.cheapened(best, tie) if len(best) == count else None
        found = program.grown(count, tie, np.inf if known is None else float(tie[known].sum()), ends)
        best = found.chosen or known or best
        if not found.whole or len(best) == count:
            return best, count, found.whole
    raise AssertionError("the best has a count of its own")


def _better(program: _Program, best: list[int], chosen: list[int]) -> list[int]:
    """The better of what stands and what an answer, joined or not, leads to."""
    if len(chosen) < len(best):
        joined = program.exchanged(chosen)
        if joined is None and (linked := link(program.join, chosen)) is not None:
            joined = _thinned(program, linked)
        if joined is not None and len(joined) < len(best):
            return _fewer(program, joined)
    return best


def _fewer(program: _Program, best: list[int], rounds: int = ROUNDS) -> list[int]:
    """One field less for as long as exchanging finds a cover without it."""
    while len(best) > 2:
        tries = (program.exchanged([other for other in best if other != field], rounds) for field in best)
        found = next((found for found in tries if found is not None), None)
        if found is None:
            break
        best = found
    return best


def _single(question: Question) -> int | None:
    """The cheapest candidate that is enough by itself."""
    alone = question.weight @ question.cover >= question.need * (1.0 - ROUNDING)
    return int(np.argmin(np.where(alone, question.cost, np.inf))) if alone.any() else None


def _cheapest(
    program: _Program, cost: Array, best: list[int], bound: int, ends: float
) -> tuple[list[int], bool]:
    """Of covers with as many as the best has, the one of least total cost.

    An answer that stands apart is still near a good one: exchanging leads there should time run out.
    """
    tie = _with_ties(cost)
    best = program.cheapened(best, tie)
    while (left := ends - time.monotonic()) > 0.2:
        chosen, least, whole = program.solve(tie, len(best), bound, COST_GAP, left)
        if tie[best].sum() <= least * (1.0 + COST_GAP):
            return best, True
        if chosen is None:
            break
        groups = components(program.join, chosen)
        near = chosen if len(groups) == 1 else program.exchanged(chosen)
        if near is not None:
            best = min(best, program.cheapened(near, tie), key=lambda each: float(tie[each].sum()))
        if len(groups) == 1:
            return best, whole
        program.part(groups, bound)
    return best, False


def _with_ties(cost: Array) -> Array:
    """Equal costs go by the order of the candidates."""
    return np.asarray(cost + np.arange(len(cost)) * 1e-7)


def _greedy(program: _Program) -> list[int] | None:
    """A joined cover to begin with: always the joined candidate that adds most."""
    covered = np.zeros(program.cells, dtype=bool)
    chosen: list[int] = []
    able = np.ones(program.candidates, dtype=bool)
    while program.weight[covered].sum() < program.need * (1.0 - ROUNDING):
        gain = np.where(able, (program.weight * ~covered) @ program.patterns, -1.0)
        field = int(np.argmax(gain))
        if gain[field] <= 0.0:  # what is next to them adds nothing, though what lies beyond may
            return _whole_group(program)
        chosen.append(field)
        covered |= program.patterns[:, field]
        able = neighbours(program.join, chosen)
    return _thinned(program, chosen)


def _whole_group(program: _Program) -> list[int] | None:
    """All candidates of a joined group that covers the need, without those that it can spare; None where none
    does: then no joined cover exists."""
    groups = components(program.join, range(program.candidates))
    able = [group for group in groups if program.weight_of(group) >= program.need * (1.0 - ROUNDING)]
    return _thinned(program, able[0]) if able else None


def _thinned(program: _Program, chosen: list[int]) -> list[int]:
    """Without those that it can spare and stay joined."""
    kept = list(chosen)
    for field in reversed(chosen):
        rest = [other for other in kept if other != field]
        enough = program.weight_of(rest) >= program.need * (1.0 - ROUNDING)
        if rest and enough and len(components(program.join, rest)) == 1:
            kept = rest
    return sorted(kept)
