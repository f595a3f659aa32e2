"""What the turn would have to be if the mid-line of the face stood elsewhere, by optic and class of face.

The published anchors for how far the mid-line stands before the cornea disagree. Here the landmarks that
differ between a pack's two faces are moved together, forward (+) or back, from where its nominal face has
them, and the least turn is solved for again.
"""

from collections.abc import Iterator, Sequence
from typing import get_args

from msgspec import Struct
from msgspec.structs import replace

from .answer import fit_request, least_pose, question_of
from .face import EyeDepthClass, FaceMeasures, FaceName, FaceTables, Landmark, NoseClass, Placement
from .fit import FitRequest, Limits
from .optic import Optic

OFFSETS_MM = (-6.0, -3.0, 0.0, 3.0, 6.0, 9.0, 12.0)
NOMINAL = OFFSETS_MM.index(0.0)
SAME_MM = 0.01


class OffsetCell(Struct, frozen=True, kw_only=True):
    """One optic on the middle face of a class, looking straight ahead, with a free neck. `needed_deg`: the
    turn (yaw) that it needs at each of OFFSETS_MM; null from where no pose fits. `touch_chance`: at the
    turn that is advised, on each of the two faces; null where none is."""

    optic: str
    depth: EyeDepthClass
    nose: NoseClass
    needed_deg: tuple[float | None, ...]
    touch_chance: dict[FaceName, float] | None


def mid_line(faces: FaceTables) -> list[Landmark]:
    """The landmarks that stand elsewhere on the second face: those that the anchors disagree about."""
    return [
        name
        for name, place in faces.nominal.landmarks.items()
        if abs(faces.forward.landmarks[name].mean_mm[2] - place.mean_mm[2]) > SAME_MM
    ]


def further(place: Placement, by_mm: float) -> Placement:
    """A landmark that much further forward."""
    x, y, z = place.mean_mm
    return replace(place, mean_mm=(x, y, z + by_mm))


def with_offset(faces: FaceTables, by_mm: float) -> FaceTables:
    """The same tables with the nominal face's mid-line that much further forward."""
    moving = set(mid_line(faces))
    landmarks = {
        name: further(place, by_mm) if name in moving else place
        for name, place in faces.nominal.landmarks.items()
    }
    return replace(faces, nominal=replace(faces.nominal, landmarks=landmarks))


def offset_cells(optics: Sequence[Optic], faces: FaceTables, limits: Limits) -> Iterator[OffsetCell]:
    """Every optic and class; some hundred solutions, so a few seconds."""
    tables = [with_offset(faces, by_mm) for by_mm in OFFSETS_MM]
    for optic in optics:
        for depth in get_args(EyeDepthClass):
            for nose in get_args(NoseClass):
                request = FitRequest(
                    optic=optic.id,
                    eye="right",
                    measures=FaceMeasures(
                        pd_mm=faces.pd_reference_mm,
                        exophthalmometry=depth,
                        nose=nose,
                        brow="medium",
                        neck="free",
                    ),
                    age_band="40-59",
                )
                yield OffsetCell(
                    optic=optic.id,
                    depth=depth,
                    nose=nose,
                    needed_deg=tuple(_needed(request, optic, table, limits) for table in tables),
                    touch_chance=fit_request(request, optics, faces, limits).touch_chance,
                )


def _needed(request: FitRequest, optic: Optic, faces: FaceTables, limits: Limits) -> float | None:
    pose = least_pose(question_of(request, optic, faces, limits), optic)
    return None if pose is None else float(pose[0])
