"""Regions of the retina as polygons of the equal-area map, each with its source.

A polygon's area is an area of retina (mm^2), so regions and fields are added, cut and taken away exactly but
for their outlines being drawn with straight lines (`outline_error_mm2` bounds that).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from ..errors import InputError
from . import landmarks
from .angles import MODEL, TABLE_ERROR_MM, widest_central_deg
from .projection import direction, ring, to_map, to_place

Array = NDArray[np.floating[Any]]
Cone = tuple[float, float, float]
"""Full angle at the entrance pupil, and the viewing direction H, V of its middle; degrees."""

CORNERS = 720
POSTERIOR_POLE_DEG = 50.0
SEVEN_FIELD_DEG = 30.0


@dataclass(frozen=True)
class Region:
    """`shape`: polygon(s) of the map, mm; `error_mm2`: more than its outline can be wrong by."""

    id: str
    name: str
    source: str
    shape: BaseGeometry
    error_mm2: float

    @property
    def area_mm2(self) -> float:
        return float(self.shape.area)


def azimuths_deg(corners: int = CORNERS) -> Array:
    return np.arange(corners) * (360.0 / corners)


def closed(points: Array) -> tuple[BaseGeometry, float]:
    """The polygon through map points (N even, 2) of a smooth ring, and more than its area can be wrong by.

    Leaving out every other corner cuts off triangles. For a smooth ring the arcs that are still cut off are a
    third of those triangles: their whole sum is stated, and what the table of angles may be wrong by.
    """
    before, middle, after = points[0::2], points[1::2], np.roll(points, -2, axis=0)[0::2]
    a, b = middle - before, after - before
    cut = float(np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum() / 2.0)
    length = float(np.linalg.norm(points - np.roll(points, -1, axis=0), axis=1).sum())
    return shapely.Polygon(points), cut + length * TABLE_ERROR_MM


def cone(field_deg: float, h_deg: float, v_deg: float) -> tuple[BaseGeometry, float]:
    """What a cone of viewing directions covers of the retina, and its error (mm^2)."""
    around = ring(direction(h_deg, v_deg), field_deg / 2.0, azimuths_deg())
    shape, error = closed(to_map(to_place(around)))
    return shape.intersection(reachable()), error


@cache
def reachable() -> BaseGeometry:
    """As much as chief rays reach, round the optic axis."""
    axis = np.array([0.0, 0.0, 1.0])
    return closed(to_map(ring(axis, widest_central_deg(), azimuths_deg())))[0].intersection(retina().shape)


@cache
def retina() -> Region:
    """All of it, out to the ora."""
    at = azimuths_deg()
    shape, error = closed(to_map(ring(np.array([0.0, 0.0, 1.0]), landmarks.ora_central_deg(at), at)))
    return Region("retina", "Whole retina, to the ora", f"{landmarks.ORA_SOURCE}; {MODEL}", shape, error)


def seven_standard_fields() -> list[Cone]:
    """The seven standard 30-degree fields, fields 1 to 7, as cones.

    1 on the disc, 2 on the fovea, 3 with the fovea at its nasal edge; 4 to 7 touch a level line through the
    top (upper fields) or bottom of the disc and an upright line through its centre.
    """
    (h, v), half, tall = landmarks.DISC_DEG, SEVEN_FIELD_DEG / 2.0, landmarks.DISC_HALF_HEIGHT_DEG
    up, down, temporal, nasal = v + tall + half, v - tall - half, h - half, h + half
    middles = [(h, v), (0.0, 0.0), (-half, 0.0), (temporal, up), (temporal, down), (nasal, up), (nasal, down)]
    return [(SEVEN_FIELD_DEG, *middle) for middle in middles]


SEVEN_SOURCE = (
    "Early Treatment Diabetic Retinopathy Study report 10, Ophthalmology 1991;98:786, modified Airlie House "
    "fields (definitions from memory); 30-degree frames placed by the disc and fovea of this model"
)


@cache
def regions() -> dict[str, Region]:
    """Every region that the model knows, by id; the first is the whole retina."""
    whole = retina()
    pole, pole_error = cone(POSTERIOR_POLE_DEG, 0.0, 0.0)
    disc, at = to_place(direction(*landmarks.DISC_DEG)), azimuths_deg()
    within, line_error = closed(to_map(ring(disc, landmarks.ampullae_central_deg(at), at)))
    study = "International Widefield Imaging Study Group (Choudhry et al. 2019, Ophthalmol Retina 3:843)"
    line = f"{study}; one line through the ampullae, {landmarks.AMPULLAE_SOURCE}"
    found = [
        whole,
        Region(
            "posterior_pole",
            "Posterior pole",
            f"{study}: the central 50 degrees, read here as an external angle about the fovea",
            pole,
            pole_error,
        ),
        Region(
            "midperiphery",
            "Midperiphery",
            f"from the posterior pole to the vortex ampullae: {line}",
            within.difference(pole),
            pole_error + line_error,
        ),
        Region(
            "far_periphery",
            "Far periphery",
            f"from the vortex ampullae to the ora: {line}; {landmarks.ORA_SOURCE}",
            whole.shape.difference(shapely.union_all([within, pole])),
            whole.error_mm2 + line_error,
        ),
        custom("seven_fields", "Seven standard fields", SEVEN_SOURCE, cones=seven_standard_fields()),
    ]
    return {region.id: region for region in found}


def region_of(region: str) -> Region:
    """A region by its id; raises InputError naming those that are known."""
    known = regions()
    if region not in known:
        raise InputError("region", f"there is no region {region!r}; there are {', '.join(known)}")
    return known[region]


def custom(
    region: str,
    name: str,
    source: str,
    *,
    cones: Sequence[Cone] = (),
    polygon: Sequence[tuple[float, float]] = (),
) -> Region:
    """A region of the clinic's own: the union of cones and of a polygon of viewing directions (H, V, deg).

    The polygon's sides are straight between directions; each is drawn in steps of at most a degree. Raises
    InputError for a polygon that crosses itself or a region without area.
    """
    drawn = [cone(*each) for each in cones]
    if polygon:
        if len(polygon) < 3:
            raise InputError("polygon", f"needs at least 3 corners, has {len(polygon)}")
        shape, error = closed(to_map(to_place(_along(np.array(polygon, dtype=float)))))
        if not shape.is_valid:
            raise InputError("polygon", "its sides cross")
        drawn.append((shape.intersection(reachable()), error))
    union = shapely.union_all([shape for shape, _ in drawn])
    if union.area <= 0.0:
        raise InputError("region", f"{region!r} covers nothing of the retina")
    return Region(region, name, source, union, sum(error for _, error in drawn))


def _along(corners: Array) -> Array:
    """Directions from corner to corner, (N even, 3), at most a degree apart, by the shortest way."""
    points = []
    ends = direction(corners[:, 0], corners[:, 1])
    for start, end in zip(ends, np.roll(ends, -1, axis=0), strict=True):
        angle = np.arccos(np.clip(start @ end, -1.0, 1.0))
        steps = 2 * max(1, int(np.ceil(np.degrees(angle) / 2.0)))
        t = np.arange(steps)[:, None] / steps
        between = start * (1.0 - t) + end * t
        points.append(between / np.linalg.norm(between, axis=1, keepdims=True))
    return np.concatenate(points)
