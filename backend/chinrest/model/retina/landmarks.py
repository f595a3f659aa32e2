"""Where fovea, disc, ora and vortex ampullae lie, by published figures.

Places are told as the *viewing direction* (H nasal+, V up+, degrees at the entrance pupil) that brings them
to the middle of the frame: the fovea is at 0, 0, and nasal retina is seen in nasal gaze. Distances on the
retina are in mm. The same figures serve both eyes.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from .angles import RADIUS_MM

Array = NDArray[np.floating[Any]]

AXIS_DEG = (5.45, 2.5)
AXIS_SOURCE = (
    "angle between optic and visual axis of an emmetropic eye, 5.45 horizontally and 2.5 vertically, the "
    "fovea on the temporal and lower side: as adopted by a public eye model after Mathur, Gehrmann & "
    "Atchison 2013 (J Vis 13(6):3)"
)
DISC_DEG = (15.5, 1.5)
DISC_SOURCE = "Rohrschneider 2004, IOVS 45:3257: disc 15.5 SD 1.1 nasal and 1.5 SD 0.9 above the fovea, n 104"
DISC_SIZE_MM = (1.77, 1.88)
DISC_SIZE_SOURCE = "Quigley et al. 1990, Arch Ophthalmol 108:51: 1.77 wide and 1.88 high, 60 donor eyes"
DISC_HALF_HEIGHT_DEG = 3.5
"""Half of 7; the blind spot is about 7.5 high (perimetry texts, from memory)."""

# Straatsma, Landers & Kreiger 1968, Arch Ophthalmol 80:3, from memory. Nasal, upper, temporal, lower.
ORA_BEFORE_EQUATOR_MM = (5.81, 5.07, 6.00, 4.79)
ORA_BEHIND_LIMBUS_MM = (5.73, 6.14, 6.52, 6.20)
ORA_SOURCE = (
    "Straatsma, Landers & Kreiger 1968, Arch Ophthalmol 80:3 (from memory): on average 5.42 mm before the "
    "equator, further forward where it lies nearer the limbus (nasal 5.73, upper 6.14, temporal 6.52, lower "
    "6.20 mm)"
)
# Upper nasal, upper temporal, lower temporal, lower nasal: from the disc's centre along the retina.
AMPULLAE_FROM_DISC_MM = (13.29, 14.04, 15.55, 13.66)
AMPULLAE_SOURCE = (
    "Funatsu et al., vortex vein ampullae of 74 healthy eyes on a model eye: from the disc, by quadrant"
)


def ora_central_deg(azimuth_deg: Array | float) -> Array:
    """Central angle from the optic axis to the ora; azimuth about the axis, 0 nasal, 90 up.

    The equator of the schematic eye's sphere stands for the equator: the mean of the four published distances
    before it sets the level. Those from the limbus say how the meridians differ, for the limbus is round
    about the axis and the equator of a living eye, deeper on the temporal side, is not.
    """
    level = float(np.mean(ORA_BEFORE_EQUATOR_MM))
    before = level + np.mean(ORA_BEHIND_LIMBUS_MM) - np.array(ORA_BEHIND_LIMBUS_MM)
    further: Array = np.degrees(_by_meridian(before, np.asarray(azimuth_deg)) / RADIUS_MM)
    return 90.0 + further


def ampullae_central_deg(azimuth_deg: Array | float) -> Array:
    """Central angle from the disc's centre to the line through the ampullae; azimuth about the disc."""
    distances = _by_meridian(np.array(AMPULLAE_FROM_DISC_MM), np.asarray(azimuth_deg) - 45.0)
    central: Array = np.degrees(distances / RADIUS_MM)
    return central


def _by_meridian(four: Array, azimuth_deg: Array) -> Array:
    """A smooth ring through values at 0, 90, 180 and 270 degrees: the least waves that meet all four."""
    at = np.radians(azimuth_deg)
    mean = four.mean()
    once = (four[0] - four[2]) / 2.0 * np.cos(at) + (four[1] - four[3]) / 2.0 * np.sin(at)
    twice = (four[0] - four[1] + four[2] - four[3]) / 4.0 * np.cos(2.0 * at)
    around: Array = mean + once + twice
    return around
