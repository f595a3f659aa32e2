"""From viewing direction to place on the retina to place on the map, and back.

Viewing direction: H nasal+, V up+, degrees, at the entrance pupil; as a unit vector (x nasal, y up, z toward
the fovea's own direction). By Listing's law an eye turns without twist, so the retina in the middle of a
frame taken in gaze (H, V) is that of viewing direction (H, V).
Place: unit vector from the centre of the retina's sphere, z along the optic axis.
Map: the retina laid flat about the fovea by Lambert's azimuthal equal-area projection, mm, x nasal, y up.
Equal areas of retina are equal areas of map, so what looks uncovered is as large as it looks, and the area of
a polygon of the map is an area of retina.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from .angles import RADIUS_MM, central_deg, external_deg, widest_central_deg, widest_external_deg
from .landmarks import AXIS_DEG

Array = NDArray[np.floating[Any]]


def direction(h_deg: Array | float, v_deg: Array | float) -> Array:
    """Unit vectors (..., 3) of viewing directions."""
    h, v = np.radians(h_deg), np.radians(v_deg)
    return np.stack(
        np.broadcast_arrays(np.sin(h) * np.cos(v), np.sin(v) + 0.0 * h, np.cos(h) * np.cos(v)), axis=-1
    )


def angles_deg(directions: Array) -> tuple[Array, Array]:
    """(H, V) in degrees of unit vectors (..., 3)."""
    h = np.degrees(np.arctan2(directions[..., 0], directions[..., 2]))
    return h, np.degrees(np.arcsin(np.clip(directions[..., 1], -1.0, 1.0)))


def _frame(forward: Array) -> Array:
    """Rows: nasal, up, forward, with nasal level."""
    nasal = np.cross([0.0, 1.0, 0.0], forward)
    nasal /= np.linalg.norm(nasal)
    return np.stack([nasal, np.cross(forward, nasal), forward])


_AXIS = _frame(direction(*AXIS_DEG))
"""Directions x this, transposed: the same seen from the optic axis."""


def to_place(directions: Array) -> Array:
    """Places (..., 3) that the chief rays of viewing directions reach.

    Beyond the last ray that enters the eye, places go on evenly to the far pole, so that an outline stays one
    closed ring; what is out there must be cut off by whoever draws it.
    """
    seen = directions @ _AXIS.T
    external = np.degrees(np.arctan2(np.hypot(seen[..., 0], seen[..., 1]), seen[..., 2]))
    last_ray, last = widest_external_deg(), widest_central_deg()
    beyond = last + (external - last_ray) * (180.0 - last) / (180.0 - last_ray)
    central = np.radians(np.where(external <= last_ray, central_deg(np.minimum(external, last_ray)), beyond))
    return _at(central, np.arctan2(seen[..., 1], seen[..., 0]))


def to_direction(places: Array) -> Array:
    """Viewing directions (..., 3) of places; NaN where no chief ray reaches."""
    central = np.degrees(np.arctan2(np.hypot(places[..., 0], places[..., 1]), places[..., 2]))
    external = np.radians(external_deg(central))
    return _at(external, np.arctan2(places[..., 1], places[..., 0])) @ _AXIS


def _at(polar: Array, azimuth: Array) -> Array:
    return np.stack(
        [np.sin(polar) * np.cos(azimuth), np.sin(polar) * np.sin(azimuth), np.cos(polar)], axis=-1
    )


def ring(centre: Array, radius_deg: Array | float, azimuth_deg: Array) -> Array:
    """Unit vectors (N, 3) at an angle from one unit vector, azimuth 0 nasal, 90 up; places or directions."""
    return _at(np.radians(np.broadcast_to(radius_deg, azimuth_deg.shape)), np.radians(azimuth_deg)) @ _frame(
        centre
    )


_FOVEA = _frame(to_place(direction(0.0, 0.0)))


def to_map(places: Array) -> Array:
    """Map points (..., 2) of places, mm."""
    seen = places @ _FOVEA.T
    scale = RADIUS_MM * np.sqrt(2.0 / np.maximum(1.0 + seen[..., 2], 1e-12))
    return seen[..., :2] * scale[..., None]


def from_map(points_mm: Array) -> Array:
    """Places (..., 3) of map points (mm), which must lie within the whole sphere's disc."""
    radius = np.hypot(points_mm[..., 0], points_mm[..., 1])
    polar = 2.0 * np.arcsin(np.clip(radius / (2.0 * RADIUS_MM), 0.0, 1.0))
    return _at(polar, np.arctan2(points_mm[..., 1], points_mm[..., 0])) @ _FOVEA
