"""How much of the retina a set of fields shows, what they share, how they join and what is left.

Fields and regions are polygons of the equal-area map, so unions, intersections and areas are worked out
exactly, but for outlines drawn with straight lines: `error_mm2` is more than that can come to.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import isfinite

import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from ..errors import InputError
from ..retina.angles import MODEL
from ..retina.regions import Cone, Region, cone, reachable, retina

WIDEST_FIELD_DEG = 200.0
WIDEST_GAZE_DEG = 60.0
MOST_FIELDS = 200
SLIVER_MM2 = 0.05
"""Two outlines that should be one leave threads between them; what is smaller than this is no gap to draw."""

DRAWN_MM = 0.005
"""Corners of a gap's outline that matter less than this are left out."""

Points = list[tuple[float, float]]


class Join(Struct, frozen=True, kw_only=True):
    """How one field is joined to those before it: the field (by its place in the list) through which it is
    reached, what the two share (mm^2), and that as a fraction of the smaller of the two."""

    to: int
    overlap_mm2: float
    overlap_fraction: float


class Gap(Struct, frozen=True, kw_only=True):
    """A piece of the region that no field shows: its outline and the outlines of holes in it, map mm."""

    area_mm2: float
    outline: Points
    holes: list[Points]


class Coverage(Struct, frozen=True, kw_only=True):
    """Areas in mm^2 of the schematic eye `model`; fractions are of `retina_mm2` and of `region_mm2`.

    `area_mm2`: the union of the fields, on all the retina. `field_mm2`: each field alone. `overlap`: what
    each pair shares; a field with itself is its own area. `joins`: for each field how it is reached from the
    first through the greatest overlaps there are, null for the first; `least_join_overlap` is the least of
    those fractions, null for one field. `gaps`: of the region, the largest first; `map` is their frame.
    `region_reachable_fraction`: what any ray through the pupil reaches; the rest takes indentation.
    """

    region: str
    area_mm2: float
    retina_fraction: float
    region_fraction: float
    region_covered_mm2: float
    error_mm2: float
    overlap: list[list[float]]
    field_mm2: list[float]
    joins: list[Join | None]
    least_join_overlap: float | None
    gaps: list[Gap]
    retina_mm2: float
    region_mm2: float
    region_reachable_fraction: float
    fields: list[Cone]
    model: str
    map: str = "Lambert equal-area about the fovea, mm; x nasal, y up"


def check_field(field: Cone) -> None:
    """Raises InputError, with the range, for a field or a gaze that no eye and optic have."""
    field_deg, h_deg, v_deg = field
    named = f"{field_deg:g}@{h_deg:g},{v_deg:g}"
    if not (isfinite(field_deg) and 0.0 < field_deg <= WIDEST_FIELD_DEG):
        why = f"{named} is outside the range of fields, above 0 to {WIDEST_FIELD_DEG:g} deg"
        raise InputError("field", why)
    for value, way in ((h_deg, "to either side"), (v_deg, "up or down")):
        if not (isfinite(value) and abs(value) <= WIDEST_GAZE_DEG):
            reach = f"{-WIDEST_GAZE_DEG:g} to {WIDEST_GAZE_DEG:g} deg"
            raise InputError("field", f"{named} is outside the eye's range of gaze, {reach} {way}")


def coverage(fields: Sequence[Cone], region: Region | None = None) -> Coverage:
    """What these fields show of a region, by default all the retina. Raises InputError for what cannot be."""
    if not 1 <= len(fields) <= MOST_FIELDS:
        raise InputError("field", f"{len(fields)} fields are outside the range 1 to {MOST_FIELDS}")
    for field in fields:
        check_field(field)
    whole = retina()
    wanted = whole if region is None else region
    drawn = [cone(*field) for field in fields]
    shapes = [shape for shape, _ in drawn]
    union = shapely.union_all(shapes)
    covered = float(union.intersection(wanted.shape).area)
    alone = [float(shape.area) for shape in shapes]
    overlap = [[area if i == j else 0.0 for j in range(len(alone))] for i, area in enumerate(alone)]
    for i, j in combinations(range(len(shapes)), 2):
        overlap[i][j] = overlap[j][i] = float(shapes[i].intersection(shapes[j]).area)
    joins = joins_of(overlap)
    return Coverage(
        region=wanted.id,
        area_mm2=float(union.area),
        retina_fraction=_share(union.area, whole.area_mm2),
        region_fraction=_share(covered, wanted.area_mm2),
        region_covered_mm2=covered,
        error_mm2=wanted.error_mm2 + sum(error for _, error in drawn),
        overlap=overlap,
        field_mm2=alone,
        joins=joins,
        least_join_overlap=min((join.overlap_fraction for join in joins if join), default=None),
        gaps=gaps_of(wanted.shape, union),
        retina_mm2=whole.area_mm2,
        region_mm2=wanted.area_mm2,
        region_reachable_fraction=_share(wanted.shape.intersection(reachable()).area, wanted.area_mm2),
        fields=list(fields),
        model=MODEL,
    )


def joins_of(overlap: Sequence[Sequence[float]]) -> list[Join | None]:
    """From the first field on, always the field that shares the greatest fraction with one already reached.

    That makes the least of all the fractions as great as any way of joining could.
    """
    fraction = [
        [shared / max(min(overlap[i][i], overlap[j][j]), 1e-12) for j, shared in enumerate(row)]
        for i, row in enumerate(overlap)
    ]
    joins: list[Join | None] = [None] * len(overlap)
    reached, left = [0], set(range(1, len(overlap)))
    while left:
        share, negative_to, negative_new = max((fraction[i][j], -i, -j) for i in reached for j in left)
        to, new = -negative_to, -negative_new
        joins[new] = Join(to=to, overlap_mm2=overlap[to][new], overlap_fraction=min(1.0, share))
        reached.append(new)
        left.remove(new)
    return joins


def gaps_of(region: BaseGeometry, union: BaseGeometry) -> list[Gap]:
    """What of a region a union of fields leaves, in pieces, the largest first."""
    pieces = [piece for piece in shapely.get_parts(region.difference(union)) if piece.area > SLIVER_MM2]
    drawn = [(float(piece.area), shapely.simplify(piece, DRAWN_MM)) for piece in pieces]
    gaps = [
        Gap(
            area_mm2=area,
            outline=points_of(shape.exterior),
            holes=[points_of(hole) for hole in shape.interiors],
        )
        for area, shape in drawn
    ]
    return sorted(gaps, key=lambda gap: -gap.area_mm2)


def points_of(line: BaseGeometry) -> Points:
    """Corners of a closed line, thousandths of a millimetre, the first not repeated at the end."""
    return [(round(x, 3), round(y, 3)) for x, y in shapely.get_coordinates(line)[:-1].tolist()]


def _share(part: float, whole: float) -> float:
    """Never above 1: an intersection's area may come out larger than the whole by rounding."""
    return min(1.0, float(part) / whole)
