"""Chief rays through a schematic eye, from its stop outward to the air and inward to the retina.

Every surface is a conic of revolution about the optic axis and the eye is traced in one plane through it:
z from the corneal vertex inward, mm. A ray starts at the middle of the stop, inside every surface it meets,
so that each surface is met exactly once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Surface:
    """A conic: radius of curvature at its vertex (mm, + when its centre lies deeper), conic constant, and
    where its vertex stands on the axis (mm behind the corneal vertex)."""

    radius_mm: float
    conic: float
    vertex_mm: float


@dataclass(frozen=True)
class SchematicEye:
    """`outward` and `inward`: surfaces in the order in which a ray from the stop meets them, each with the
    index of what lies behind it (as the ray goes). The retina is a sphere."""

    name: str
    source: str
    stop_mm: float
    index_at_stop: float
    outward: tuple[tuple[Surface, float], ...]
    inward: tuple[tuple[Surface, float], ...]
    retina_radius_mm: float
    retina_centre_mm: float


WIDE_ANGLE = SchematicEye(
    name="wide-angle schematic eye of Escudero-Sanz & Navarro 1999, 543 nm",
    source="Escudero-Sanz & Navarro 1999, JOSA A 16:1881; optics of Navarro et al. 1985; prescription and "
    "indices as in a public catalogue of eye models",
    stop_mm=3.60,
    index_at_stop=1.3391,
    outward=((Surface(6.50, 0.0, 0.55), 1.3777), (Surface(7.72, -0.26, 0.0), 1.0)),
    inward=((Surface(10.20, -3.1316, 3.60), 1.4222), (Surface(-6.00, -1.0, 7.60), 1.3377)),
    retina_radius_mm=12.0,
    retina_centre_mm=7.60 + 16.3203 - 12.0,
)


def chief_rays(eye: SchematicEye, at_stop_deg: Array) -> tuple[Array, Array]:
    """(external, central) angles in degrees of rays that cross the axis at the stop by `at_stop_deg`.

    External: between the optic axis and the ray in air. Central: at the centre of the retina's sphere,
    between the optic axis and where the ray ends. NaN where a ray does not get through.
    """
    at_stop = np.radians(at_stop_deg)
    start = np.zeros_like(at_stop), np.full_like(at_stop, eye.stop_mm)
    along = np.sin(at_stop), np.cos(at_stop)
    # Outward, the same ray is walked backward: by symmetry it leaves on the other side of the axis.
    _, out = _through(eye.outward, start, (-along[0], -along[1]), eye.index_at_stop)
    point, inner = _through(eye.inward, start, along, eye.index_at_stop)
    back = Surface(-eye.retina_radius_mm, 0.0, eye.retina_centre_mm + eye.retina_radius_mm)
    x, z = _meet(back, point, inner)
    external = np.degrees(np.arctan2(-out[0], -out[1]))
    return external, np.degrees(np.arctan2(x, z - eye.retina_centre_mm))


def _through(
    surfaces: tuple[tuple[Surface, float], ...],
    point: tuple[Array, Array],
    along: tuple[Array, Array],
    index: float,
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Where rays are, and where they go, after the surfaces in order."""
    for surface, behind in surfaces:
        point = _meet(surface, point, along)
        along = _refract(surface, point, along, index / behind)
        index = behind
    return point, along


def _meet(surface: Surface, point: tuple[Array, Array], along: tuple[Array, Array]) -> tuple[Array, Array]:
    """The way out of x^2 + (1 + Q) z^2 - 2 R z = 0 from a point within it or on it."""
    x, z = point[0], point[1] - surface.vertex_mm
    dx, dz = along
    stretch = 1.0 + surface.conic
    # For R < 0 the same quadric opens the other way; its inside is where the left side is negative.
    square = dx * dx + stretch * dz * dz
    half = x * dx + stretch * z * dz - surface.radius_mm * dz
    inside = x * x + stretch * z * z - 2.0 * surface.radius_mm * z
    root = np.sqrt(np.maximum(half * half - square * inside, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(inside < 0.0, -inside / (half + root), 0.0)
    return point[0] + far * dx, point[1] + far * dz


def _refract(
    surface: Surface, point: tuple[Array, Array], along: tuple[Array, Array], ratio: float
) -> tuple[Array, Array]:
    """Snell's law in vector form; NaN where light is wholly reflected."""
    nx = point[0]
    nz = (1.0 + surface.conic) * (point[1] - surface.vertex_mm) - surface.radius_mm
    size = np.hypot(nx, nz)
    nx, nz = nx / size, nz / size
    cosine = nx * along[0] + nz * along[1]
    side = np.where(cosine < 0.0, -1.0, 1.0)
    nx, nz, cosine = nx * side, nz * side, cosine * side
    rest = 1.0 - ratio * ratio * (1.0 - cosine * cosine)
    turn = np.sqrt(np.where(rest < 0.0, np.nan, rest)) - ratio * cosine
    return ratio * along[0] + turn * nx, ratio * along[1] + turn * nz
