"""External angle, central angle and arc: three measures of how far out on the retina a place lies.

External: at the entrance pupil, in air, between the optic axis and the chief ray; the "visual" angle in which
fields are stated. Central: at the centre of the schematic eye's retinal sphere, to the place itself. Arc: on
the retina, mm. All are from the optic axis. They differ by a third and must never be mixed, so each has its
own name, and whoever prints one prints `MODEL` with it.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .trace import WIDE_ANGLE, chief_rays

Array = NDArray[np.floating[Any]]

MODEL = WIDE_ANGLE.name
RADIUS_MM = WIDE_ANGLE.retina_radius_mm
STEP_DEG = 0.25
TABLE_ERROR_MM = 1e-4
"""More than straight lines between entries of the table can be wrong by, on the retina."""


@cache
def table() -> tuple[Array, Array]:
    """(external, central) angles in degrees, both rising, from the axis to the last chief ray that enters."""
    traced = chief_rays(WIDE_ANGLE, np.linspace(0.0, 90.0, 6001)[:-1])
    # a whole degree, so that a table of whole degrees ends where this one does
    last = float(np.floor(np.nanmax(traced[0])))
    external = np.arange(0.0, last + STEP_DEG / 2.0, STEP_DEG)
    return external, np.interp(external, *traced)


def widest_external_deg() -> float:
    """External angle of the last chief ray that reaches the retina."""
    return float(table()[0][-1])


def widest_central_deg() -> float:
    """Central angle that it reaches: what lies beyond is seen only with the eye indented."""
    return float(table()[1][-1])


def central_deg(external_deg: Array | float) -> Array:
    """Central angle of an external one; NaN beyond the last ray."""
    external, central = table()
    return np.asarray(np.interp(external_deg, external, central, right=np.nan))


def external_deg(central_deg: Array | float) -> Array:
    """External angle of a central one; NaN where no chief ray reaches."""
    external, central = table()
    return np.asarray(np.interp(central_deg, central, external, right=np.nan))


def arc_mm(external_deg: Array | float) -> Array:
    """Length on the retina from the optic axis's pole to an external angle; NaN beyond the last ray."""
    return np.radians(central_deg(external_deg)) * RADIUS_MM


def cap_area_mm2(central_deg: Array | float) -> Array:
    """Area of the sphere's cap out to a central angle, round whatever point of it."""
    return 2.0 * np.pi * RADIUS_MM**2 * (1.0 - np.cos(np.radians(central_deg)))
