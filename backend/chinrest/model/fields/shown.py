"""What reached gazes show of a region, and which of them are joined: the planner's matrices."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from ..retina.regions import Cone, Region, cone
from .cells import Cells, cells, seen_by
from .coverage import Gap, gaps_of
from .reach import Reached

Mask = NDArray[np.bool_]
CELLS, MORE_CELLS = 1200, 4800
"""Cells of a region at least: to begin with, and where so few flattered a plan."""
SPACINGS_MM = (0.15, 0.25, 0.35, 0.5, 0.7, 1.0)
BORDERLINE = 0.04
"""Fractions this near to the one asked are taken from the outlines, not from cells."""


class Shown(NamedTuple):
    """Reached gazes with the cells of a region that each shows (cells, gazes) and which pairs are joined."""

    reached: list[Reached]
    cover: Mask
    join: Mask
    cells: int


def shown_together(reached: Sequence[Reached], region: Region) -> tuple[float, list[Gap]]:
    """What fraction of a region these gazes show together, and what none of them shows."""
    union = shapely.union_all([cone(*cone_of(field))[0] for field in reached])
    return float(union.intersection(region.shape).area) / region.area_mm2, gaps_of(region.shape, union)


def shown_by(reached: Sequence[Reached], region: Region, overlap: float, least_cells: int = CELLS) -> Shown:
    """The planner's matrices for a region: gazes that show none of it are left out."""
    grid = _grid_for(region, least_cells)
    inside = grid.mask(region)
    cones = [cone_of(field) for field in reached]
    seen = seen_by(grid, cones)[:, inside] if cones else np.zeros((0, int(inside.sum())), dtype=bool)
    used = [i for i in range(len(reached)) if seen[i].any()]
    kept = [reached[i] for i in used]
    return Shown(kept, seen[used].T, joined([cone_of(field) for field in kept], overlap), int(inside.sum()))


def joined(cones: Sequence[Cone], overlap: float) -> Mask:
    """Which fields (K, K) share at least this fraction of the smaller one; a field is joined to itself.

    Counted in cells where the answer is plain, taken from the outlines where it is near.
    """
    if not cones:
        return np.zeros((0, 0), dtype=bool)
    seen = seen_by(cells(0.5), cones).astype(np.float64)
    shared, area = seen @ seen.T, np.maximum(seen.sum(axis=1), 1.0)
    fraction = shared / np.minimum(area[:, None], area[None, :])
    join = fraction >= overlap
    shapes: dict[int, Any] = {}
    near = np.argwhere(np.triu(np.abs(fraction - overlap) < BORDERLINE, k=1))
    for i, j in near.tolist():
        one, two = (shapes.setdefault(k, cone(*cones[k])[0]) for k in (i, j))
        least = min(one.area, two.area)
        join[i, j] = join[j, i] = least > 0.0 and shapely.intersection(one, two).area / least >= overlap
    np.fill_diagonal(join, True)
    return np.asarray(join)


def cone_of(field: Reached) -> Cone:
    """As the retina's own functions take a field."""
    return (field.field_deg, field.h, field.v)


def _grid_for(region: Region, least_cells: int) -> Cells:
    """The coarsest cells of which the region still has enough."""
    fine = [spacing for spacing in SPACINGS_MM if region.area_mm2 / spacing**2 >= least_cells]
    return cells(max(fine, default=SPACINGS_MM[0]))
