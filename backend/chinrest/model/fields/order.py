"""The order of a plan's fields: from the most central one on, each joined to one before, little movement."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..retina.projection import direction

Mask = NDArray[np.bool_]
Array = NDArray[np.floating[Any]]
EXACT_UP_TO = 10
"""Fields for which every order is weighed (as subsets); more are ordered by going to the nearest."""


def angles_between(gazes: Sequence[tuple[float, float]]) -> Array:
    """Degrees between each two gazes; (K, K)."""
    given = np.array(gazes, dtype=float).reshape(-1, 2)
    ways = direction(given[:, 0], given[:, 1])
    return np.asarray(np.degrees(np.arccos(np.clip(ways @ ways.T, -1.0, 1.0))))


def ordered(gazes: Sequence[tuple[float, float]], join: Mask) -> list[int]:
    """Indices of the gazes in the order to take them; `join` (K, K) must hold them together."""
    if len(gazes) <= 1:
        return list(range(len(gazes)))
    away = angles_between(gazes)
    first = int(np.argmin(angles_between([(0.0, 0.0), *gazes])[0, 1:]))
    return _least(away, join, first) if len(gazes) <= EXACT_UP_TO else _nearest(away, join, first)


def _least(away: Array, join: Mask, first: int) -> list[int]:
    """Least total movement, over sets of those already taken."""
    count = len(away)
    joins = [sum(1 << int(j) for j in np.flatnonzero(join[i]) if j != i) for i in range(count)]
    ways: dict[tuple[int, int], tuple[float, int]] = {(1 << first, first): (0.0, -1)}
    sets: list[set[int]] = [set() for _ in range(count + 1)]
    sets[1].add(1 << first)
    for size in range(1, count):
        for taken in sorted(sets[size]):
            for last in range(count):
                if (taken, last) not in ways:
                    continue
                moved = ways[taken, last][0]
                for new in range(count):
                    if taken >> new & 1 or not joins[new] & taken:
                        continue
                    key, total = (taken | 1 << new, new), moved + float(away[last, new])
                    if key not in ways or total < ways[key][0] - 1e-9:
                        ways[key] = (total, last)
                        sets[size + 1].add(key[0])
    everyone = (1 << count) - 1
    ends = [last for last in range(count) if (everyone, last) in ways]
    if not ends:
        return _nearest(away, join, first)
    last = min(ends, key=lambda end: (round(ways[everyone, end][0], 6), end))
    order, taken = [], everyone
    while last >= 0:
        order.append(last)
        taken, last = taken & ~(1 << last), ways[taken, last][1]
    return order[::-1]


def _nearest(away: Array, join: Mask, first: int) -> list[int]:
    """Always the nearest that is joined to one taken; the nearest of all where none is."""
    order, left = [first], set(range(len(away))) - {first}
    while left:
        joined = [i for i in left if any(join[i, taken] for taken in order)] or sorted(left)
        near = min(joined, key=lambda i: (round(float(away[order[-1], i]), 6), i))
        order.append(near)
        left.remove(near)
    return order
