"""The cheapest joined cover of a given count, exactly, by growing joined sets one candidate at a time.

Every joined set of n candidates has a joined subset of n - 1; so all sets that can still become a cover are
met, each once, the most promising first. A set is dropped where even the candidates that add most, counted
as if they shared nothing, fall short of the need, or where the cheapest way to what is missing costs no less
than a cover that is known. For few fields on the planner's grid that is quicker than cutting unjoined answers
off a program.
"""

import time
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Array = NDArray[np.floating[Any]]
Ints = NDArray[np.integer[Any]]

MOST_SETS = 1_500_000
"""Sets looked at; with more, a program proves it sooner."""
CROWDED = 0.5
"""Where more of all pairs than this are joined, joining asks little and sets are without number."""
AT_ONCE = 2048
SLACK = 1e-4
"""Bounds are sums in single precision; this part of the need is far above their rounding."""
PRICES = (0.0, 0.4, 0.8, 1.2, 1.8)
"""Of what is missing, in parts of (cost allowed / need). Each gives a bound; any of them may drop a set."""


class Grown(NamedTuple):
    """`chosen`: the cheapest joined cover, None where none costs less than was allowed. `whole`: all that
    could be one was looked at; where not, it is the best met before there were too many or time was up."""

    chosen: list[int] | None
    whole: bool


class _Ground(NamedTuple):
    """What stays while sets grow. `weighted` (cells, candidates): each cell's weight where it is shown."""

    patterns: Mask
    weight: Array
    weighted: NDArray[np.float32]
    join: Mask
    need: float
    cost: Array


def cheapest_joined(
    patterns: Mask, weight: Array, join: Mask, need: float, count: int, cost: Array, below: float, ends: float
) -> Grown:
    """Of joined covers of exactly `count` candidates, the cheapest that costs less than `below`.

    `patterns` (cells, candidates), `weight` (cells), `join` (candidates, candidates), `cost` (candidates);
    `need`: least total weight covered. `ends`: when to give up, by `time.monotonic`.
    """
    candidates = patterns.shape[1]
    if candidates**count >= 2**63 or join.mean() > CROWDED:
        return Grown(None, whole=False)
    weighted = np.asarray(weight[:, None] * patterns, dtype=np.float32)
    ground = _Ground(patterns, weight, weighted, join & ~np.eye(candidates, dtype=bool), need, cost)
    best: list[int] | None = None
    met = [np.empty(0, dtype=np.int64) for _ in range(count + 1)]
    looked_at = 0
    waiting: list[Ints] = [np.arange(candidates)[:, None]]
    while waiting:
        sets = waiting.pop()
        if len(sets) > AT_ONCE:
            waiting.append(sets[AT_ONCE:])
            sets = sets[:AT_ONCE]
        size = sets.shape[1]
        if size == count:
            best, below = _cheapest(ground, sets, best, below)
            continue
        grown = _next(ground, sets, count - size, below)
        key, first = np.unique(_key(grown, candidates), return_index=True)
        new = np.isin(key, met[size + 1], assume_unique=True, invert=True)
        met[size + 1] = np.union1d(met[size + 1], key[new])
        looked_at += int(new.sum())
        if looked_at > MOST_SETS or time.monotonic() > ends:
            return Grown(best, whole=False)
        if new.any():
            waiting.append(grown[np.sort(first[new])])
    return Grown(best, whole=True)


def _covered(ground: _Ground, sets: Ints) -> Mask:
    """Cells that each set shows; (sets, cells)."""
    shown = ground.patterns.T
    covered = shown[sets[:, 0]]
    for column in sets.T[1:]:
        covered = covered | shown[column]
    return np.asarray(covered)


def _next(ground: _Ground, sets: Ints, left: int, below: float) -> Ints:
    """Each set with each neighbour that can still lead to a cover by `left` more, itself the first of them;
    those that leave least missing come first."""
    covered = _covered(ground, sets)
    missing = (ground.need - covered @ ground.weight)[:, None]
    gain = (~covered).astype(np.float32) @ ground.weighted
    able = np.asarray(ground.join[sets].any(axis=1))
    np.put_along_axis(able, sets, values=False, axis=1)
    able &= gain + _greatest(gain, left - 1) >= missing - SLACK * ground.need
    if np.isfinite(below):
        spent = ground.cost[sets].sum(axis=1)[:, None]
        for price in PRICES:
            each = price * below / ground.need
            worth = (
                each * gain - ground.cost
            )  # what is saved of the missing, at this price, less what it costs
            saved = worth + _greatest(worth, left - 1)
            able &= spent + each * (missing - SLACK * ground.need) - saved < below
    row, added = np.nonzero(able)
    order = np.argsort((missing - gain)[row, added], kind="stable")
    return np.sort(np.c_[sets[row], added], axis=1)[order]


def _greatest(value: Array, many: int) -> Array:
    """Sum of the `many` greatest of each row; (rows, 1)."""
    if many == 0:
        return np.zeros((len(value), 1))
    return np.asarray(-np.partition(-value, many - 1, axis=1)[:, :many].sum(axis=1, keepdims=True))


def _key(sets: Ints, candidates: int) -> NDArray[np.int64]:
    key = np.zeros(len(sets), dtype=np.int64)
    for column in sets.T:
        key = key * candidates + column
    return key


def _cheapest(
    ground: _Ground, sets: Ints, best: list[int] | None, below: float
) -> tuple[list[int] | None, float]:
    """The cheapest cover among these, or what is known; and its cost."""
    enough = _covered(ground, sets) @ ground.weight >= ground.need
    cost = np.where(enough, ground.cost[sets].sum(axis=1), np.inf)
    first = int(np.argmin(cost))
    return ([int(i) for i in sets[first]], float(cost[first])) if cost[first] < below else (best, below)
