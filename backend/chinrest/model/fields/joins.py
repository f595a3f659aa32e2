"""Are chosen fields joined, and what would join those that are not: plain walks over a boolean matrix."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Ints = NDArray[np.integer[Any]]


def components(join: Mask, chosen: Sequence[int]) -> list[list[int]]:
    """The chosen fields in groups within which each is reached from each over joins; `join` (K, K)."""
    left, groups = set(chosen), []
    while left:
        group = [min(left)]
        left.discard(group[0])
        for field in group:
            found = [other for other in sorted(left) if join[field, other]]
            group += found
            left.difference_update(found)
        groups.append(sorted(group))
    return groups


def neighbours(join: Mask, fields: Sequence[int]) -> Mask:
    """Which candidates are joined to any of these fields and are none of them; (K,)."""
    inside = np.zeros(len(join), dtype=bool)
    inside[list(fields)] = True
    return np.asarray(join[list(fields)].any(axis=0) & ~inside)


def side_of(join: Mask, group: Sequence[int], others: Sequence[int]) -> list[int]:
    """All that can be reached from the group without coming next to the others: the group's whole side."""
    barred = neighbours(join, others)
    barred[list(others)] = True
    reached = np.zeros(len(join), dtype=bool)
    reached[list(group)] = True
    front = reached.copy()
    while front.any():
        front = join[front].any(axis=0) & ~barred & ~reached
        reached |= front
    return [int(i) for i in np.flatnonzero(reached)]


def link(join: Mask, chosen: Sequence[int]) -> list[int] | None:
    """The chosen fields with as few more as a shortest way between groups needs; None where none exists."""
    linked = sorted(chosen)
    while True:
        groups = components(join, linked)
        if len(groups) <= 1:
            return linked
        way = _shortest(join, groups[0], sorted(set(linked) - set(groups[0])))
        if way is None:
            return None
        linked = sorted({*linked, *way})


def _shortest(join: Mask, start: Sequence[int], goal: Sequence[int]) -> list[int] | None:
    before: dict[int, int | None] = dict.fromkeys(start)
    queue, goals = list(start), set(goal)
    for field in queue:
        for other in (int(i) for i in np.flatnonzero(join[field])):
            if other in before:
                continue
            before[other] = field
            if other in goals:
                way, at = [], before[other]
                while at is not None and at not in start:
                    way.append(at)
                    at = before[at]
                return way
            queue.append(other)
    return None
