"""The retina as equal-area cells, each with the direction from which it is seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from ..retina.projection import angles_deg, direction, from_map, to_direction
from ..retina.regions import Cone, Region, regions

Array = NDArray[np.floating[Any]]
Mask = NDArray[np.bool_]

TIE = 1e-9
"""A cell on the very edge of a field is in it, whatever the last bit of a cosine says."""


@dataclass(frozen=True)
class Cells:
    """Squares of the equal-area map whose middles lie on the retina, row by row from below.

    `directions` (N, 3), `h_deg` and `v_deg` (N,) are viewing directions of the middles, NaN where no chief
    ray reaches; `x_mm`, `y_mm` (N,) the middles on the map; `area_mm2` the retina in each.
    """

    spacing_mm: float
    area_mm2: float
    x_mm: Array
    y_mm: Array
    h_deg: Array
    v_deg: Array
    directions: Array
    masks: dict[str, Mask]

    def __len__(self) -> int:
        return len(self.x_mm)

    def mask(self, region: Region) -> Mask:
        """Cells whose middles lie in a region, a custom one too; (N,)."""
        return _within(region, self.x_mm, self.y_mm)


@cache
def cells(spacing_mm: float = 0.5) -> Cells:
    """Cells `spacing_mm` apart on the map; the same for both eyes."""
    known = regions()
    left, low, right, high = known["retina"].shape.bounds
    # middles at half steps, so that the fovea is a corner and both sides are alike
    columns = np.arange(np.floor(left / spacing_mm), np.ceil(right / spacing_mm)) + 0.5
    rows = np.arange(np.floor(low / spacing_mm), np.ceil(high / spacing_mm)) + 0.5
    x, y = (grid.ravel() * spacing_mm for grid in np.meshgrid(columns, rows))
    on = _within(known["retina"], x, y)
    x, y = x[on], y[on]
    directions = to_direction(from_map(np.stack([x, y], axis=-1)))
    h, v = angles_deg(directions)
    masks = {region.id: _within(region, x, y) for region in known.values()}
    return Cells(spacing_mm, spacing_mm**2, x, y, h, v, directions, masks)


def seen(cells: Cells, gaze_deg: tuple[float, float], field_deg: float) -> Mask:
    """Which cells (N,) a field of this full angle shows in this gaze."""
    one: Mask = seen_by(cells, [(field_deg, *gaze_deg)])[0]
    return one


def seen_by(cells: Cells, fields: Sequence[Cone]) -> Mask:
    """Which cells each of the fields shows; (F, N)."""
    given = np.array(fields, dtype=float).reshape(-1, 3)
    middles = direction(given[:, 1], given[:, 2])
    within: Mask = middles @ cells.directions.T >= np.cos(np.radians(given[:, :1] / 2.0)) - TIE
    return within


def _within(region: Region, x_mm: Array, y_mm: Array) -> Mask:
    inside: Mask = shapely.contains_xy(region.shape, x_mm, y_mm)
    return inside
