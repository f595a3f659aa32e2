"""The wide-angle eye of the published prescription in a general-purpose ray tracer from the registry."""

import contextlib
import io
from typing import Any

import numpy as np
from published_values import published
from scipy.optimize import brentq
from tracepy import RayGroup, geometry

EYE = published("retina")["wide_angle"]
BEFORE_MM = 2.0


def _conic(radius_mm: float, conic: float, vertex_mm: float, index: float) -> Any:
    """Its conics with kappa > 0 take their curvature from the diameter, so the diameter is made to fit."""
    kappa = 1.0 + conic
    with contextlib.redirect_stdout(io.StringIO()):  # it says so each time
        return geometry(
            {
                "P": float(vertex_mm),
                "action": "refraction",
                "Diam": 2.0 * abs(radius_mm) / kappa**0.5 if kappa > 0.0 else 40.0,
                "N": index,
                "kappa": kappa,
                "c": 1.0 / radius_mm,
            }
        )


SURFACES = [_conic(*row) for row in EYE["surfaces"]]
STOP = geometry({"P": EYE["stop_mm"], "action": "stop", "Diam": 40.0})
BEFORE_STOP = 2


def _trace(surfaces: list[Any], heights_mm: Any, angle_deg: float) -> Any:
    """(points, directions, which came through) of rays from air that would meet the plane of the corneal
    vertex at these heights. It takes no single ray, so there are always two."""
    heights = np.resize(heights_mm, max(2, np.size(heights_mm)))
    along = np.array([0.0, np.sin(np.radians(angle_deg)), np.cos(np.radians(angle_deg))])
    starts = np.stack([np.zeros_like(heights), heights, np.zeros_like(heights)], axis=1) - BEFORE_MM * along
    rays = RayGroup(starts, np.tile(along, (len(heights), 1)), 0.543)
    rays.propagate(surfaces)
    return rays.P, rays.D, rays.active


def central_deg(external_deg: float) -> float:
    """Angle at the centre of the retina's sphere of the ray that crosses the middle of the stop."""

    def off_axis(height_mm: float) -> float:
        return float(_trace([*SURFACES[:BEFORE_STOP], STOP], height_mm, external_deg)[0][0, 1])

    # seen from the side the entrance pupil comes nearer, so the paraxial height is somewhat too far down
    paraxial = -3.04 * np.tan(np.radians(external_deg))
    height = brentq(off_axis, paraxial * 1.02, paraxial * 0.85, xtol=1e-12)
    points, directions, through = _trace(SURFACES, height, external_deg)
    assert through.all()
    # a sphere beyond its own equator has no one height above each point, so the last step is done here
    middle = np.array([0.0, 0.0, EYE["retina_pole_mm"] - EYE["retina_radius_mm"]])
    from_middle, along = points[0] - middle, directions[0]
    half = from_middle @ along
    way = -half + np.sqrt(half**2 - from_middle @ from_middle + EYE["retina_radius_mm"] ** 2)
    end = from_middle + way * along
    return float(np.degrees(np.arctan2(end[1], end[2])))
