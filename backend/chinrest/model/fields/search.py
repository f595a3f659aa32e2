"""A joined cover of a given count by exchanging one field at a time: quick, and no proof of anything.

A tabu search: the best exchange is made even where it is for the worse, and what left stays out for some
rounds. Nothing in it is random, so the same question has the same answer.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .joins import components

Mask = NDArray[np.bool_]
Array = NDArray[np.floating[Any]]
ROUNDS = 240
KEEP_OUT = 7
SAVING = 1e-9
APART = 0.06
"""What one group standing apart counts as, in parts of the need that are missing."""


def exchange(
    patterns: Mask, weight: Array, join: Mask, need: float, start: Sequence[int], rounds: int = ROUNDS
) -> list[int] | None:
    """A joined cover of as many candidates as `start` has, or None where none was met.

    `patterns` (cells, candidates), `weight` (cells), `join` (candidates, candidates).
    """
    weighted = weight[:, None] * patterns
    chosen, out_until = list(start), np.zeros(patterns.shape[1], dtype=int)
    for turn in range(rounds):
        counts = patterns[:, chosen].sum(axis=1)
        if weight[counts > 0].sum() >= need and len(components(join, chosen)) == 1:
            return sorted(chosen)
        best = (np.inf, -1, -1)
        for place, field in enumerate(chosen):
            rest = chosen[:place] + chosen[place + 1 :]
            bare = counts - patterns[:, field] == 0
            covered = weight[~bare].sum() + bare @ weighted
            missing = np.maximum(0.0, need - covered) / need
            groups = components(join, rest)
            touched = sum((join[group].any(axis=0) for group in groups), np.zeros(len(join), dtype=int))
            score = missing + APART * (len(groups) - touched)
            score[chosen] = np.inf
            score[out_until > turn] = np.inf
            other = int(np.argmin(score))
            if score[other] < best[0]:
                best = (float(score[other]), place, other)
        _, place, other = best
        if place < 0:
            return None
        out_until[chosen[place]] = turn + KEEP_OUT
        chosen[place] = other
    return None


def cheaper(
    patterns: Mask, weight: Array, join: Mask, need: float, start: Sequence[int], cost: Array
) -> list[int]:
    """From a joined cover, the exchange of one candidate that saves most, for as long as one saves
    anything."""
    weighted = weight[:, None] * patterns
    chosen = sorted(start)
    while True:
        counts = patterns[:, chosen].sum(axis=1)
        best = (-SAVING, -1, -1)
        for place, field in enumerate(chosen):
            rest = chosen[:place] + chosen[place + 1 :]
            bare = counts - patterns[:, field] == 0
            groups = components(join, rest)
            touched = sum((join[group].any(axis=0) for group in groups), np.zeros(len(join), dtype=int))
            able = (weight[~bare].sum() + bare @ weighted >= need) & (touched == len(groups))
            able[chosen] = False
            change = np.where(able, cost - cost[field], np.inf)
            other = int(np.argmin(change))
            if change[other] < best[0]:
                best = (float(change[other]), place, other)
        if best[1] < 0:
            return chosen
        chosen[best[1]] = best[2]
        chosen.sort()
