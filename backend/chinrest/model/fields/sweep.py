"""A sweep: re-aiming along a path of gazes with an outside light, frame over frame, sector by sector."""

from collections.abc import Sequence
from math import ceil, cos, hypot, radians, sin
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from ..retina.regions import regions
from .cells import Array, Mask, cells, seen_by
from .plan import PlannedField, stop_of
from .reach import PULL_DEG, WIDEST_H_DEG, Gaze, Reach, Reached
from .seconds import Stop
from .shown import cone_of, joined

WAYS = 8
"""Directions in which a ring of the sweep goes."""
HOURS = 12
RING_STEP = 0.75
"""From ring to ring at most, of the field's width."""
ENOUGH = 0.5
"""A frame counts for a sector of which it shows at least this part."""
Ring = Literal["posterior_pole", "midperiphery", "far_periphery"]
RINGS: tuple[tuple[Ring, str, str], ...] = (
    ("midperiphery", "mid", "middle ring"),
    ("far_periphery", "far", "far ring"),
)


class Sector(Struct, frozen=True, kw_only=True):
    """A part of the retina to check off: the centre (the posterior pole), or an hour of a ring, such as
    `mid-3`. Hours run as the photographer faces a right eye, nasal at 3; in a left eye hour h stands for 12
    - h. `frames`: places in the sweep's list of those that show enough of it, best first; `shown`: what
    part of it all show together."""

    id: str
    name: str
    ring: Ring
    frames: list[int]
    shown: float


class Sweep(Struct, frozen=True, kw_only=True):
    """Gazes in order, from the centre out and round; each shares at least `overlap` of the smaller field's
    area with the one before it where `joined` says so. The same for both eyes, nasal positive."""

    fields: list[PlannedField]
    poses: list[Stop]
    overlap: float
    joined: list[bool]
    sectors: list[Sector]


def sweep(reach: Reach, overlap: float) -> Sweep:
    """The path for one optic and patient: the centre, out to nasal, round by upper, temporal and lower."""
    stops: list[Reached] = []
    for gaze in _waypoints(reach):
        _go_to(gaze, stops, reach, overlap)
    cones = [cone_of(field) for field in stops]
    join = joined(cones, overlap)
    return Sweep(
        fields=[(field.h, field.v, round(field.field_deg, 2)) for field in stops],
        poses=[stop_of(field) for field in stops],
        overlap=overlap,
        joined=[True, *(bool(join[i, i + 1]) for i in range(len(stops) - 1))],
        sectors=_sectors(stops),
    )


def _waypoints(reach: Reach) -> list[Gaze]:
    """The centre, then ring by ring outward as far as can be reached each way."""
    outmost = [_outmost(360.0 / WAYS * i, reach) for i in range(WAYS)]
    farthest = max(hypot(*gaze) for gaze in outmost)
    rings = max(1, ceil(farthest / (RING_STEP * reach.optic.field_deg)))
    way = [(0.0, 0.0)]
    for ring in range(1, rings + 1):
        part = ring / rings
        way += [(round(h * part) + 0.0, round(v * part) + 0.0) for h, v in outmost]
    return way


def _outmost(azimuth_deg: float, reach: Reach) -> Gaze:
    away = WIDEST_H_DEG + 0.0
    while away > 0.0:
        gaze = _toward(azimuth_deg, away)
        if reach.at(gaze) is not None:
            return gaze
        away -= PULL_DEG
    return (0.0, 0.0)


def _toward(azimuth_deg: float, away_deg: float) -> Gaze:
    at = radians(azimuth_deg)
    return round(away_deg * cos(at)) + 0.0, round(away_deg * sin(at)) + 0.0


def _go_to(gaze: Gaze, stops: list[Reached], reach: Reach, overlap: float) -> None:
    """Adds the gaze, with as many evenly between as it takes for each to overlap the one before."""
    end = reach.at(gaze)
    if end is None or (stops and (end.h, end.v) == (stops[-1].h, stops[-1].v)):
        return
    if not stops:
        stops.append(end)
        return
    last = stops[-1]
    for count in range(1, 13):
        way = [
            (
                round(last.h + (end.h - last.h) * i / count),
                round(last.v + (end.v - last.v) * i / count),
            )
            for i in range(1, count)
        ]
        between = reach.all([(float(h), float(v)) for h, v in way])
        path = [last, *between, end]
        join = joined([cone_of(field) for field in path], overlap)
        if all(join[i, i + 1] for i in range(len(path) - 1)):
            break
    stops.extend(path[1:])


def hours_of(nasal: Array, up: Array) -> NDArray[np.int64]:
    """The hour of each direction, 0 (for 12) to 11, nasal at 3.

    Half an hour goes to the even one: a diagonal counts as the hour nearer to the horizontal (2, 4, 8, 10),
    so that both halves mirror. The phone keeps the same rule.
    """
    turned = np.degrees(np.arctan2(nasal, up)) / (360.0 / HOURS)
    hours: NDArray[np.int64] = np.round(turned).astype(np.int64) % HOURS
    return hours


def _sectors(stops: Sequence[Reached]) -> list[Sector]:
    grid = cells(0.5)
    seen = seen_by(grid, [cone_of(field) for field in stops])
    hours = hours_of(grid.x_mm, grid.y_mm)
    known = regions()
    found = [_sector("centre", "Centre", "posterior_pole", grid.mask(known["posterior_pole"]), seen)]
    for ring, short, words in RINGS:
        inside = grid.mask(known[ring])
        for hour in range(HOURS):
            at = hour or HOURS
            found.append(
                _sector(f"{short}-{at}", f"{at} o'clock, {words}", ring, inside & (hours == hour), seen)
            )
    return found


def _sector(name: str, words: str, ring: Ring, inside: Mask, seen: Mask) -> Sector:
    parts = seen[:, inside].mean(axis=1)
    order = sorted(range(len(parts)), key=lambda i: (-round(float(parts[i]), 6), i))
    return Sector(
        id=name,
        name=words,
        ring=ring,
        frames=[i for i in order if parts[i] >= ENOUGH],
        shown=round(float(seen[:, inside].any(axis=0).mean()), 4),
    )
