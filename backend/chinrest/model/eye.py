"""The eye: where its entrance pupil is when it turns, and how narrow its pupil looks from the side."""

from __future__ import annotations

from math import cos, radians
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]


class Eye(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Distances in the eye, mm, in the head frame of primary gaze.

    Head frame: origin at the corneal apex, x nasal, y up, z forward.

    Entrance pupil: 3.04 mm behind the cornea, paraxial entrance pupil of the wide-angle schematic eye of
    Escudero-Sanz & Navarro 1999 (JOSA A 16:1881) traced at 543 nm; Le Grand's eye gives 3.038.
    Rotation centres: Fry & Hill 1962, 1963 (Optom Vis Sci 39:581, 40:707), horizontal 14.8 behind the cornea
    and 0.79 nasal of the visual axis, vertical 12.2 behind and 0.33 up; as quoted in a public eye-model code.
    """

    pupil_depth_mm: float = 3.04
    horizontal_centre_depth_mm: float = 14.8
    horizontal_centre_nasal_mm: float = 0.79
    vertical_centre_depth_mm: float = 12.2
    vertical_centre_up_mm: float = 0.33


def entrance_pupil_mm(eye: Eye, h_deg: Array | float, v_deg: Array | float) -> Array:
    """Entrance pupil in the head frame for an eye turned (h nasal+, v up+) in its head; shape (..., 3), mm.

    Fick order: the vertical turn happens about the inner, horizontal axis, then both are carried about the
    outer, vertical axis. The two axes do not meet (their centres differ), so this is not one rotation.
    """
    h, v = np.radians(h_deg), np.radians(v_deg)
    up, forward = eye.vertical_centre_up_mm, eye.vertical_centre_depth_mm - eye.pupil_depth_mm
    y = up - up * np.cos(v) + forward * np.sin(v)
    z = -eye.vertical_centre_depth_mm + up * np.sin(v) + forward * np.cos(v)
    side, reach = eye.horizontal_centre_nasal_mm, z + eye.horizontal_centre_depth_mm
    x = side - side * np.cos(h) + reach * np.sin(h)
    z = -eye.horizontal_centre_depth_mm + side * np.sin(h) + reach * np.cos(h)
    return np.stack(np.broadcast_arrays(x, y, z), axis=-1)


def pupil_ratio(gaze_h_deg: float) -> float:
    """Narrow over wide diameter of the pupil as the instrument sees it, 0 to 1, for horizontal gaze (nasal+).

    Mathur, Gehrmann & Atchison 2013 (J Vis 13(6):3): 0.99 cos((phi + 5.3) / 1.121), phi the visual-field
    angle of the observer, nasal field +. Nasal gaze puts the optic in the temporal field, so phi = -gaze.
    Measured in the horizontal meridian only, to 90 deg.
    """
    return max(0.0, 0.99 * cos(radians((-gaze_h_deg + 5.3) / 1.121)))
