"""Known patterns of fields, as this optic and patient get them, beside the plan."""

from collections.abc import Sequence
from math import cos, radians, sin
from typing import Literal, NamedTuple

from msgspec import Struct, structs

from ..optic import Optic
from ..retina import landmarks
from ..retina.regions import SEVEN_FIELD_DEG, SEVEN_SOURCE, Cone, Region, seven_standard_fields
from ..series.pace import Pace
from .coverage import coverage
from .plan import FieldPlan, PlannedField, stop_of
from .reach import PULL_DEG, Gaze, Reach, Reached
from .seconds import Stop, moves_of

PatternId = Literal[
    "single", "two_fields", "seven_standard_fields", "grid_3x3", "ring_of_four", "ring_of_eight"
]
SPACING = 0.7
"""From frame to frame in grids and rings, of the field's width: common practice, no source."""


class Pattern(Struct, frozen=True, kw_only=True):
    """One pattern. `fields`: those that this patient can be brought to, in the pattern's order; `pulled_in`
    of them lie nearer the centre than the pattern says, `left_out` cannot be reached at all. `as_defined`:
    whole and with the field that its definition names. `meets`: as much of the region, and as well joined,
    as the plan was asked for. `sentence`: what is better or worse than the plan.
    """

    id: PatternId
    name: str
    source: str
    fields: list[PlannedField]
    poses: list[Stop]
    frames: int
    pulled_in: int
    left_out: int
    as_defined: bool
    region_fraction: float
    least_join_overlap: float | None
    meets: bool
    seconds: float
    turns: int
    sentence: str


Placed = list[tuple[Gaze, Reached | None]]
"""Each gaze of a pattern, and how far toward it the patient can be brought."""


class Layout(NamedTuple):
    """Where a pattern puts its frames; `field_deg` where its definition names one. Frames of a definition
    are not moved; others may be taken as far out as the patient can look."""

    id: PatternId
    name: str
    source: str
    gazes: list[Gaze]
    field_deg: float | None = None
    fixed: bool = False


def layouts(field_deg: float) -> list[Layout]:
    """Every pattern for a field of this width."""
    step = round(SPACING * field_deg)
    around = [(step * cos(radians(45.0 * i)), step * sin(radians(45.0 * i))) for i in range(8)]
    ring = [(round(h, 1), round(v, 1)) for h, v in around]
    rows = [(float(h * step), float(v * step)) for v in (1, 0, -1) for h in (-1, 0, 1)]
    # row by row, there and back, from the middle row: little movement, the centre first
    grid = [rows[i] for i in (4, 5, 2, 1, 0, 3, 6, 7, 8)]
    own = "common practice, no source"
    return [
        Layout("single", "Single shot", own, [(0.0, 0.0)]),
        Layout(
            "two_fields",
            "Two fields: fovea and disc",
            "a national survey's protocol of two 45-degree fields, one on the disc and one on the macula",
            [(0.0, 0.0), landmarks.DISC_DEG],
            45.0,
            True,
        ),
        Layout(
            "seven_standard_fields",
            "Seven standard fields",
            SEVEN_SOURCE,
            [(h, v) for _, h, v in seven_standard_fields()],
            SEVEN_FIELD_DEG,
            True,
        ),
        Layout("grid_3x3", "Grid of three by three", own, grid),
        Layout("ring_of_four", "Centre and ring of four", own, [(0.0, 0.0), *ring[::2]]),
        Layout("ring_of_eight", "Centre and ring of eight", own, [(0.0, 0.0), *ring]),
    ]


def patterns(plan: FieldPlan, region: Region, optic: Optic, reach: Reach, pace: Pace) -> list[Pattern]:
    """Every pattern with its figures for this region, optic and patient, compared with the plan."""
    return [
        _pattern(layout, placed, plan, region, optic, pace) for layout, placed in placements(optic, reach)
    ]


def placements(optic: Optic, reach: Reach) -> list[tuple[Layout, Placed]]:
    """Every pattern with where each of its gazes can be had."""
    return [
        (layout, [(gaze, _reached(gaze, reach, layout.fixed)) for gaze in layout.gazes])
        for layout in layouts(optic.field_deg)
    ]


def _pattern(
    layout: Layout, placed: Placed, plan: FieldPlan, region: Region, optic: Optic, pace: Pace
) -> Pattern:
    taken = [found for _, found in placed if found is not None]
    # a wider optic is counted for what the definition shows, a narrower one for what it has
    cones: list[Cone] = [
        (
            field.field_deg if layout.field_deg is None else min(layout.field_deg, field.field_deg),
            field.h,
            field.v,
        )
        for field in taken
    ]
    measured = coverage(cones, region) if cones else None
    fraction = measured.region_fraction if measured else 0.0
    least = measured.least_join_overlap if measured else None
    total = moves_of([stop_of(field) for field in taken], pace)
    meets = fraction >= plan.asked.coverage and (least is None or least >= plan.asked.overlap)
    narrow = layout.field_deg is not None and optic.field_deg < layout.field_deg
    made = Pattern(
        id=layout.id,
        name=layout.name,
        source=layout.source,
        fields=[(h, v, round(field_deg, 2)) for field_deg, h, v in cones],
        poses=[stop_of(field) for field in taken],
        frames=len(taken),
        pulled_in=sum(found is not None and (found.h, found.v) != gaze for gaze, found in placed),
        left_out=sum(found is None for _, found in placed),
        as_defined=not narrow and all(found and (found.h, found.v) == gaze for gaze, found in placed),
        region_fraction=fraction,
        least_join_overlap=least,
        meets=bool(cones) and meets,
        seconds=total.seconds,
        turns=total.turns,
        sentence="",
    )
    return _with_sentence(made, plan, layout, narrow)


def _reached(gaze: Gaze, reach: Reach, fixed: bool) -> Reached | None:
    """The gaze, or as far out toward it as the patient can be brought."""
    found = reach.at(gaze)
    away = (gaze[0] ** 2 + gaze[1] ** 2) ** 0.5
    while found is None and not fixed and away > PULL_DEG:
        part = (away - PULL_DEG) / away
        gaze, away = (round(gaze[0] * part, 1), round(gaze[1] * part, 1)), away - PULL_DEG
        found = reach.at(gaze)
    return found


def _with_sentence(made: Pattern, plan: FieldPlan, layout: Layout, narrow: bool) -> Pattern:
    return structs.replace(made, sentence=" ".join([*_shows(made, plan), *_notes(made, layout, narrow)]))


def _shows(made: Pattern, plan: FieldPlan) -> Sequence[str]:
    if not made.frames:
        return ["None of its frames can be reached."]
    shows = f"{_frames(made.frames)} {_percent(made.region_fraction)} in about {made.seconds:.0f} s"
    if not plan.fields:
        return [f"{shows[:1].upper()}{shows[1:]}."]
    theirs = f"{_frames(plan.count)} {_percent(plan.region_fraction)} in about {plan.seconds:.0f} s"
    said = [f"{_verdict(made, plan)}: {shows}; the plan's {theirs}."]
    if made.least_join_overlap is not None and made.least_join_overlap < plan.asked.overlap:
        least = _percent(made.least_join_overlap)
        said.append(f"Frames are joined by as little as {least}; {_percent(plan.asked.overlap)} is asked.")
    return said


def _verdict(made: Pattern, plan: FieldPlan) -> str:
    if not made.meets:
        return (
            "Shows less than is asked" if made.region_fraction < plan.asked.coverage else "Joins too little"
        )
    if made.frames <= plan.count and made.seconds <= plan.seconds:
        return "As good as the plan"
    return "Does it, with more frames" if made.frames > plan.count else "Does it, with more movement"


def _frames(count: int) -> str:
    return f"{count} frames show" if count != 1 else "1 frame shows"


def _percent(fraction: float) -> str:
    return f"{int(fraction * 100.0 + 1e-9)} %"


def _notes(made: Pattern, layout: Layout, narrow: bool) -> Sequence[str]:
    notes = []
    if narrow:
        notes.append(f"Its definition asks for {layout.field_deg:g}° frames; this optic shows less.")
    if made.pulled_in:
        notes.append(f"{made.pulled_in} pulled in to what this patient reaches.")
    if made.left_out:
        notes.append(f"{made.left_out} left out: beyond this patient's reach.")
    return notes
