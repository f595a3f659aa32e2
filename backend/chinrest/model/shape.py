"""From the face tables and one patient's measures to capsules in the head frame."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from .errors import InputError
from .face import Face, FaceMeasures, FaceTables, Landmark

Array = NDArray[np.floating[Any]]


class Shifts(NamedTuple):
    """How one patient differs from the reference, mm, and how sure that is (SD, mm)."""

    pd_mm: float
    exophthalmometry_mm: float
    nose_mm: float
    brow_mm: float
    spread_mm: tuple[float, float, float, float]
    judged_depth: bool


def shifts_of(tables: FaceTables, measures: FaceMeasures) -> Shifts:
    """Measures as differences from the tables' reference. Raises InputError outside the tables' ranges."""
    pd_range, depth_range = tables.pd_range, tables.exophthalmometry_range
    if not pd_range.low <= measures.pd_mm <= pd_range.high:
        raise InputError("pd_mm", _outside(measures.pd_mm, pd_range.low, pd_range.high, pd_range.why))
    depth = measures.exophthalmometry
    judged = isinstance(depth, str)
    if isinstance(depth, str):
        level = tables.eye_depth.classes[depth]
        depth_mm, depth_spread = level.value_mm, level.spread_mm
    else:
        if not depth_range.low <= depth <= depth_range.high:
            raise InputError(
                "exophthalmometry", _outside(depth, depth_range.low, depth_range.high, depth_range.why)
            )
        depth_mm, depth_spread = depth, tables.eye_depth.measured_spread_mm
    nose, brow = tables.nose_classes[measures.nose], tables.brow_classes[measures.brow]
    return Shifts(
        measures.pd_mm - tables.pd_reference_mm,
        depth_mm - tables.eye_depth.reference_mm,
        nose.value_mm,
        brow.value_mm,
        (tables.pd_measured_spread_mm, depth_spread, nose.spread_mm, brow.spread_mm),
        judged,
    )


def _outside(value: float, low: float, high: float, why: str) -> str:
    return f"{value:g} mm is outside {low:g} to {high:g} mm: {why}"


class FaceShape:
    """One face of the tables as arrays: landmarks (L, 3), how they move (L, 4, 3), capsule ends by index."""

    def __init__(self, tables: FaceTables, face: Face) -> None:
        # sorted: the same face must draw the same sample, whatever order its file lists the landmarks in
        names: list[Landmark] = sorted(face.landmarks)
        self.landmarks = names
        places = [face.landmarks[name] for name in names]
        index = {name: i for i, name in enumerate(names)}
        self.mean = np.array([p.mean_mm for p in places])
        self.sd = np.array([p.sd_mm for p in places])
        self.moves = np.array(
            [[p.per_pd, p.per_exophthalmometry, p.nose_direction, p.brow_direction] for p in places]
        )
        ends = [(c.start, c.end) for c in tables.capsules]
        self.ends = np.array([[index[a.landmark], index[b.landmark]] for a, b in ends])
        self.names: list[tuple[Landmark, Landmark]] = [(a.landmark, b.landmark) for a, b in ends]
        self.insets = np.array([[a.inset_mm, b.inset_mm] for a, b in ends])
        self.radii = np.array([[a.radius_mm, b.radius_mm] for a, b in ends])

    def landmarks_mm(self, shifts: Array, scatter: Array | None = None) -> Array:
        """Skin points (..., L, 3), mm, in the order of `landmarks`.

        shifts (..., 4): pd, exophthalmometry, nose, brow, mm from the reference; scatter (..., L, 3), in SDs.
        """
        points = self.mean + np.einsum("...k,lkx->...lx", shifts, self.moves)
        return np.asarray(points if scatter is None else points + scatter * self.sd)

    def capsules_mm(self, shifts: Array, scatter: Array | None = None) -> Array:
        """Capsules (..., C, 8): x0, y0, z0, r0, x1, y1, z1, r1, mm, head frame."""
        points = self.landmarks_mm(shifts, scatter)
        ends = points[..., self.ends, :] + self.insets
        capsules = np.empty((*ends.shape[:-2], 8))
        capsules[..., 0:3] = ends[..., 0, :]
        capsules[..., 3] = self.radii[:, 0]
        capsules[..., 4:7] = ends[..., 1, :]
        capsules[..., 7] = self.radii[:, 1]
        return capsules

    def nearest(self, capsule: int, along: float) -> Landmark:
        """The landmark that a place on a capsule (0 start to 1 end) is nearest to."""
        return self.names[capsule][0 if along <= 0.5 else 1]
