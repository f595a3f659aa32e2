"""The retina as a phone holds it: coarse equal-area cells, regions and outlines, and check vectors.

What a phone works out from these is only for drawing and for counting what a series has shown so far; the
exact areas of a plan are in the plan. `union` is the reference of the phone's own kernel.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from ..retina import landmarks, regions
from ..retina.angles import MODEL, RADIUS_MM, STEP_DEG, table, widest_external_deg
from ..retina.landmarks import DISC_DEG, DISC_SIZE_MM
from ..retina.projection import direction, ring, to_map, to_place
from ..retina.regions import Cone, Region, azimuths_deg
from ..spread import spread
from .cells import TIE, cells
from .coverage import Points, points_of

Array = NDArray[np.floating[Any]]

SPACING_MM = 0.8
SIMPLER_MM = 0.02
TABLE_STEP_DEG = 1.0
VECTORS = 12
OUTLINE_CORNERS = 12


class PhoneRetina(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Equal-area cells of the retina, and what is drawn of it. The same for both eyes: x and H nasal+.

    A cell is a square of the flat map, `spacing_mm` wide, its middle at (`column` + 1/2, `row` + 1/2) x
    `spacing_mm`; each holds `area_mm2`. `h_deg`, `v_deg`: the direction in which the eye looks when the
    instrument is straight before that cell. Cells beyond the end of these two lists are retina that no ray
    through the pupil reaches. `region_bits`: bit i is set where the cell is in the pack's `regions[i]`.
    `ora`, `reach`, `disc`: closed outlines on the map, mm; the fovea is at 0, 0.
    `central_deg[i]`: angle at the centre of the eye for the external angle i x `step_deg` from the optic
    axis, whose own direction is `axis_deg`; from there a field's outline is drawn.
    """

    model: str
    sources: list[str]
    spacing_mm: float
    area_mm2: float
    column: list[int]
    row: list[int]
    h_deg: list[float]
    v_deg: list[float]
    region_bits: list[int]
    radius_mm: float
    axis_deg: tuple[float, float]
    step_deg: float
    central_deg: list[float]
    ora: Points
    reach: Points
    disc: Points


class PackRegion(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A part of the retina that can be asked for. `rings`: closed outlines on the map, mm, pieces and holes
    alike (inside is what an odd number of them goes round). `area_mm2` is exact, not counted in cells."""

    id: str
    name: str
    source: str
    area_mm2: float
    rings: list[Points]


class CellUnion(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What fields show, counted in cells: which (their places in the list, rising), how much retina, and how
    much of each region, by id (fractions of the cells of the retina and of the region)."""

    cells: list[int]
    area_mm2: float
    retina_fraction: float
    region_fraction: dict[str, float]


class CellVector(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One check: fields, how many cells they show together, the sum of those cells' places, the fractions;
    and corners of the first field's outline (map mm), from nasal upward, evenly round."""

    fields: list[Cone]
    count: int
    place_sum: int
    area_mm2: float
    retina_fraction: float
    region_fraction: dict[str, float]
    outline: Points


def phone_retina(known: Sequence[Region]) -> PhoneRetina:
    """Cells and outlines for a phone; the bits follow the order of `known`."""
    fine = cells(SPACING_MM)
    order = np.argsort(np.isnan(fine.h_deg), kind="stable")
    reached = int(np.count_nonzero(~np.isnan(fine.h_deg)))
    bits = np.zeros(len(fine), dtype=np.int64)
    for i, region in enumerate(known):
        bits |= fine.mask(region).astype(np.int64) << i
    external, central = table()
    every = round(TABLE_STEP_DEG / STEP_DEG)
    last = int(widest_external_deg() // TABLE_STEP_DEG) * every
    at = azimuths_deg()
    width, height = DISC_SIZE_MM
    middle = to_map(to_place(direction(*DISC_DEG)))
    disc = middle + np.stack([np.cos(np.radians(at)) * width, np.sin(np.radians(at)) * height], axis=-1) / 2.0
    return PhoneRetina(
        model=MODEL,
        sources=[
            landmarks.AXIS_SOURCE,
            landmarks.DISC_SOURCE,
            landmarks.DISC_SIZE_SOURCE,
            landmarks.ORA_SOURCE,
        ],
        spacing_mm=SPACING_MM,
        area_mm2=fine.area_mm2,
        column=np.floor(fine.x_mm[order] / SPACING_MM).astype(int).tolist(),
        row=np.floor(fine.y_mm[order] / SPACING_MM).astype(int).tolist(),
        h_deg=[round(value, 2) for value in fine.h_deg[order][:reached].tolist()],
        v_deg=[round(value, 2) for value in fine.v_deg[order][:reached].tolist()],
        region_bits=bits[order].tolist(),
        radius_mm=RADIUS_MM,
        axis_deg=landmarks.AXIS_DEG,
        step_deg=float(external[every]),
        central_deg=[round(value, 4) for value in central[: last + 1 : every].tolist()],
        ora=rings_of(regions.retina().shape)[0],
        reach=rings_of(regions.reachable())[0],
        disc=rings_of(shapely.Polygon(disc))[0],
    )


def pack_region(region: Region) -> PackRegion:
    return PackRegion(
        id=region.id,
        name=region.name,
        source=region.source,
        area_mm2=round(region.area_mm2, 3),
        rings=rings_of(region.shape),
    )


def rings_of(shape: BaseGeometry) -> list[Points]:
    """Outlines for drawing: corners that matter less than two hundredths of a millimetre are left out."""
    simple = shapely.simplify(shape, SIMPLER_MM)
    pieces = [piece for piece in shapely.get_parts(simple) if piece.geom_type == "Polygon"]
    lines = [line for piece in pieces for line in (piece.exterior, *piece.interiors)]
    return [[(round(x, 2), round(y, 2)) for x, y in points_of(line)] for line in lines]


def union(retina: PhoneRetina, known: Sequence[PackRegion], fields: Sequence[Cone]) -> CellUnion:
    """What fields show, counted in the phone's own cells."""
    cell = direction(np.array(retina.h_deg), np.array(retina.v_deg))
    shown = np.zeros(len(retina.h_deg), dtype=bool)
    for field_deg, h_deg, v_deg in fields:
        shown |= cell @ direction(h_deg, v_deg) >= np.cos(np.radians(field_deg / 2.0)) - TIE
    bits = np.array(retina.region_bits)
    within = {
        region.id: int(np.count_nonzero(bits[: len(shown)][shown] >> i & 1))
        / max(1, int(np.count_nonzero(bits >> i & 1)))
        for i, region in enumerate(known)
    }
    places = np.flatnonzero(shown).tolist()
    return CellUnion(
        cells=places,
        area_mm2=len(places) * retina.area_mm2,
        retina_fraction=len(places) / len(bits),
        region_fraction=within,
    )


def outline(field: Cone, corners: int = OUTLINE_CORNERS) -> Array:
    """Corners (N, 2) of a field's outline on the map, mm, from nasal upward, evenly round its cone."""
    field_deg, h_deg, v_deg = field
    around = ring(direction(h_deg, v_deg), field_deg / 2.0, azimuths_deg(corners))
    return to_map(to_place(around))


def cell_vectors(retina: PhoneRetina, known: Sequence[PackRegion]) -> list[CellVector]:
    """Single fields and sets, narrow and wide, near and steered."""
    rows = list(spread(VECTORS * 4, 3))
    return [
        vector_of(retina, known, [random_field(row) for row in rows[i * 4 : i * 4 + 1 + i % 4]])
        for i in range(VECTORS)
    ]


def vector_of(retina: PhoneRetina, known: Sequence[PackRegion], fields: list[Cone]) -> CellVector:
    found = union(retina, known, fields)
    return CellVector(
        fields=fields,
        count=len(found.cells),
        place_sum=sum(found.cells),
        area_mm2=round(found.area_mm2, 6),
        retina_fraction=round(found.retina_fraction, 9),
        region_fraction={name: round(share, 9) for name, share in found.region_fraction.items()},
        outline=[(round(x, 3), round(y, 3)) for x, y in outline(fields[0]).tolist()],
    )


def random_field(row: Sequence[float]) -> Cone:
    """A field from three numbers of the unit interval: 20 to 200 degrees, gaze to 40 aside, 25 up or down."""
    return (
        round(20.0 + 180.0 * row[0] ** 2, 1),
        round(80.0 * row[1] - 40.0, 1),
        round(50.0 * row[2] - 25.0, 1),
    )
