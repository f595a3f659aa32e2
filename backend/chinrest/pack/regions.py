"""Regions of the retina in a pack: the model's, and those that the clinic draws in `regions.toml`."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from chinrest.model.errors import InputError
from chinrest.model.fields.coverage import check_field
from chinrest.model.fields.phone import (
    CellVector,
    PackRegion,
    PhoneRetina,
    cell_vectors,
    pack_region,
    phone_retina,
)
from chinrest.model.retina.regions import Cone, Region, custom, regions

from .faults import PackFault

FILE = "regions.toml"
MOST_REGIONS = 30
"""A cell's regions are bits of one number that a phone's arithmetic of 32 bits must hold."""


class DrawnRegion(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A region of the clinic's own: the union of `cones` (full angle, gaze H, V; degrees) and of the polygon
    whose corners are gazes H, V. Nasal and up are positive, so that it serves both eyes."""

    id: str
    name: str
    source: str
    cones: list[Cone] = []
    polygon: list[tuple[float, float]] = []


class RetinaParts(Struct, frozen=True, kw_only=True):
    """What a pack holds of the retina."""

    retina: PhoneRetina
    regions: list[PackRegion]
    cell_vectors: list[CellVector]


def region_by_id(name: str, drawn: Sequence[DrawnRegion]) -> Region:
    """One of the model's regions or of the clinic's. Raises InputError naming those that are known."""
    known = regions()
    own = {each.id: each for each in drawn if each.id not in known}
    if name in own:
        return shape_of(own[name])
    if name not in known:
        raise InputError("region", f"there is no region {name!r}; there are {', '.join([*known, *own])}")
    return known[name]


def shape_of(drawn: DrawnRegion) -> Region:
    return custom(drawn.id, drawn.name, drawn.source, cones=drawn.cones, polygon=drawn.polygon)


def retina_parts(drawn: Sequence[DrawnRegion]) -> RetinaParts:
    """Cells, regions and check vectors for the phone; the model's regions first."""
    shapes = [*regions().values(), *(shape_of(each) for each in drawn)]
    retina = phone_retina(shapes)
    listed = [pack_region(region) for region in shapes]
    return RetinaParts(retina=retina, regions=listed, cell_vectors=cell_vectors(retina, listed))


def region_faults(drawn: Sequence[DrawnRegion]) -> Iterator[PackFault]:
    """What the clinic's own regions get wrong."""
    known = regions()
    if len(known) + len(drawn) > MOST_REGIONS:
        yield PackFault(
            file=FILE, key="regions", reason=f"at most {MOST_REGIONS - len(known)} regions of your own"
        )
    for each in drawn:
        key = f"regions[{each.id}]"
        if each.id in known:
            yield PackFault(file=FILE, key=f"{key}.id", reason="is the id of one of the model's own regions")
        for what, text in (("name", each.name), ("source", each.source)):
            if not text.strip():
                yield PackFault(file=FILE, key=f"{key}.{what}", reason="must say something")
        try:
            for cone in [*each.cones, *((1.0, *corner) for corner in each.polygon)]:
                check_field(cone)
            shape_of(each)
        except InputError as error:
            yield PackFault(file=FILE, key=key, reason=str(error))
