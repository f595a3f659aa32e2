"""Evenly spread, always equal sets of numbers for tables and check vectors."""

from typing import TypeVar

from scipy.stats import qmc

T = TypeVar("T")


def spread(count: int, dimensions: int) -> list[list[float]]:
    """`count` points in the unit cube, from the Halton sequence after its first point (the corner)."""
    points = qmc.Halton(dimensions, scramble=False).random(count + 1)[1:]
    return [[float(v) for v in row] for row in points]


def pick(share: float, choices: tuple[T, ...]) -> T:
    """The choice at a share of the way through the list."""
    return choices[min(int(share * len(choices)), len(choices) - 1)]
