"""The fewest fields that show a region: reached by this patient, joined, exact, in the order to take them."""

import time
from collections.abc import Sequence
from math import floor
from typing import Literal

import numpy as np
from msgspec import Struct, structs

from ..errors import InputError
from ..face import FaceTables
from ..fit import EyeSide, Limits
from ..optic import Optic
from ..retina.regions import Region
from ..series.pace import PACE, Pace
from .cover import Cover, Question, fewest, joined_cover
from .coverage import Coverage, Gap, coverage
from .joins import components, neighbours
from .order import ordered
from .reach import Patient, Reach, Reached, candidates, not_computed
from .seconds import Stop, moves_of
from .shown import BORDERLINE, MORE_CELLS, Shown, cone_of, shown_by, shown_together

PlannedField = tuple[float, float, float]
"""[h, v, field_deg]: the gaze, nasal+ and up+, and the full field at the distance that the face leaves."""

COVERAGE, OVERLAP = 0.95, 0.2
SECONDS = 8.0
ATTEMPTS = 5
NEARLY_ALL = 0.98
"""Where a region cannot be shown as asked, the plan shows this part of what can be."""


class PlanAsked(Struct, frozen=True, kw_only=True):
    """`coverage`: the least fraction of the region's area that the fields show together. `overlap`: two
    fields count as joined when they share at least this fraction of the smaller one's area on the retina;
    every field is reached from every other through joined ones."""

    coverage: float = COVERAGE
    overlap: float = OVERLAP


PlanReasonCode = Literal[
    "child_no_computed_turn", "unusual_face_no_computed_turn", "region_beyond_reach", "fields_do_not_join"
]


class PlanReason(Struct, frozen=True, kw_only=True):
    """Why a region cannot be shown as asked."""

    code: PlanReasonCode
    sentence: str


class FieldPlan(Struct, frozen=True, kw_only=True):
    """`fields` in the order to take them. Of gazes on the planner's grid no fewer than `lower_bound` can do
    it (counted on cells); `proved`: the plan has that many. `region_fraction` and `least_join_overlap` are
    measured on the outlines.

    `feasible`: the region is shown as asked. Where it is not, `reason` says why, `reachable_fraction` how
    much all reachable gazes show together, the fields show nearly all of that, `gaps` are what none shows.
    `poses`: yaw, pitch and eye-in-head [h, v] in degrees and working distance in mm for each field.
    `discomfort_proved`: their total discomfort is within two per cent of the least for this many fields.
    """

    optic: str
    eye: EyeSide
    region: str
    asked: PlanAsked
    feasible: bool
    reason: PlanReason | None
    fields: list[PlannedField]
    poses: list[Stop]
    count: int
    lower_bound: int
    proved: bool
    region_fraction: float
    reachable_fraction: float
    least_join_overlap: float | None
    seconds: float
    moves: int
    turns: int
    discomfort: float
    discomfort_proved: bool
    gaps: list[Gap]
    other_optics: list[str]
    face: str


def check_asked(asked: PlanAsked) -> None:
    """Raises InputError, with the range, for fractions that make no sense."""
    if not 0.0 < asked.coverage <= 1.0:
        raise InputError("coverage", f"{asked.coverage:g} is outside the range above 0 to 1")
    if not 0.0 <= asked.overlap <= 0.9:
        raise InputError("overlap", f"{asked.overlap:g} is outside the range 0 to 0.9")


def plan(
    region: Region,
    asked: PlanAsked,
    optic: Optic,
    eye: EyeSide,
    patient: Patient,
    faces: FaceTables,
    limits: Limits,
    *,
    others: Sequence[Reach] = (),
    pace: Pace = PACE,
    seconds: float = SECONDS,
    reach: Reach | None = None,
) -> FieldPlan:
    """The exact plan. `others`: what the clinic's optics reach, of which those that can show the region are
    named where this one cannot. `seconds`: how long the proof may take. Raises InputError for what cannot
    be asked."""
    check_asked(asked)
    face = "this patient's" if patient.measures else "the tables' reference adult: nothing was measured"
    refused = not_computed(patient, optic, eye, faces)
    if refused:
        child = patient.age_band == "child"
        code: PlanReasonCode = "child_no_computed_turn" if child else "unusual_face_no_computed_turn"
        return _without(region, asked, optic, eye, PlanReason(code=code, sentence=refused), face)
    reach = reach or Reach(patient, optic, eye, faces, limits)
    made = _planned(region, asked, eye, reach, pace, seconds, face)
    return made if made.feasible else name_others(made, region, others)


def name_others(made: FieldPlan, region: Region, others: Sequence[Reach]) -> FieldPlan:
    """A plan that does not show the region as asked, with those of the other optics named that can."""
    if made.feasible or made.reason is None or made.reason.code != "region_beyond_reach":
        return made
    able = [
        reach.optic.id
        for reach in others
        if reach.optic.id != made.optic and can_show(region, made.asked, reach)
    ]
    reason = _reason(region, made.asked, made.reachable_fraction, made.reachable_fraction, able)
    return structs.replace(made, reason=reason, other_optics=able)


def _planned(
    region: Region, asked: PlanAsked, eye: EyeSide, reach: Reach, pace: Pace, seconds: float, face: str
) -> FieldPlan:
    shown = shown_by(reach.all(candidates()), region, asked.overlap)
    reachable, missing = shown_together(shown.reached, region)
    shown, together = _joinable(shown, region, reachable)
    feasible = together >= asked.coverage - 1e-6
    reason = None if feasible else _reason(region, asked, reachable, together, [])
    # where no plan does what is asked a good one is enough: no proof, and so no clock
    target = asked.coverage if feasible else NEARLY_ALL * together
    found = _solved(shown, region, asked.overlap, target, seconds if feasible else None)
    if found is None:
        none = _without(region, asked, reach.optic, eye, reason, face)
        return structs.replace(none, reachable_fraction=reachable, gaps=missing)
    cover, chosen = found
    total = moves_of([stop_of(field) for field in chosen], pace)
    measured = _measured(chosen, region)
    return FieldPlan(
        optic=reach.optic.id,
        eye=eye,
        region=region.id,
        asked=asked,
        feasible=feasible,
        reason=reason,
        fields=[(field.h, field.v, round(field.field_deg, 2)) for field in chosen],
        poses=[stop_of(field) for field in chosen],
        count=len(chosen),
        lower_bound=cover.lower_bound,
        proved=len(chosen) == cover.lower_bound,
        region_fraction=measured.region_fraction,
        reachable_fraction=reachable,
        least_join_overlap=measured.least_join_overlap,
        seconds=total.seconds,
        moves=total.moves,
        turns=total.turns,
        discomfort=round(sum(field.discomfort for field in chosen), 4),
        discomfort_proved=cover.cost_proved,
        gaps=measured.gaps if feasible else missing,
        other_optics=[],
        face=face,
    )


def _joinable(shown: Shown, region: Region, reachable: float) -> tuple[Shown, float]:
    """The gazes that are joined to each other over others and show the most of the region, and how much they
    show together: a plan is made of these alone. `reachable`: what all show, measured."""
    groups = components(shown.join, range(len(shown.reached)))
    if len(groups) < 2:
        return shown, reachable
    able = [(shown_together([shown.reached[i] for i in group], region)[0], group) for group in groups]
    most, group = max(able, key=lambda each: each[0])
    kept = [shown.reached[i] for i in group]
    return Shown(kept, shown.cover[:, group], shown.join[np.ix_(group, group)], shown.cells), most


def can_show(region: Region, asked: PlanAsked, reach: Reach) -> bool:
    """Whether reachable gazes that are joined show as much of the region as is asked."""
    shown = shown_by(reach.all(candidates()), region, asked.overlap)
    reachable = shown_together(shown.reached, region)[0]
    return (
        reachable >= asked.coverage - 1e-6 and _joinable(shown, region, reachable)[1] >= asked.coverage - 1e-6
    )


def stop_of(field: Reached) -> Stop:
    """As the seconds are counted from."""
    return Stop(
        gaze_deg=(field.h, field.v),
        yaw_deg=round(field.yaw_deg, 1),
        pitch_deg=round(field.pitch_deg, 1),
        working_distance_mm=round(field.distance_mm, 1),
        eye_in_head_deg=(round(field.eye_in_head_deg[0], 1), round(field.eye_in_head_deg[1], 1)),
    )


def _solved(
    shown: Shown, region: Region, overlap: float, target: float, seconds: float | None
) -> tuple[Cover, list[Reached]] | None:
    """Solved on cells, measured on outlines; asked again on finer cells where the cells flattered, and then
    for a little more; at last fields are added. The bound is that of what was asked, on the finest cells
    used. The gazes of `shown` are joined and show the target together: None stands for no gaze at all.
    `seconds` None: without a clock, and without looking for a proof."""
    if not shown.reached:
        return None
    whole = shown
    ends = time.monotonic() + (seconds or 0.0)
    one = _by_itself(shown, region, target)
    if one is not None:
        return Cover([], 1, True, True), [one]
    more, bound = 0.0, 2  # one field was ruled out on the outlines
    cover = Cover([], bound, False, False)
    chosen: list[Reached] = []
    for attempt in range(ATTEMPTS):
        need = min(target + more, shown.cover.any(axis=1).mean()) * shown.cells
        weight = np.ones(shown.cover.shape[0])
        cost = np.array([field.discomfort for field in shown.reached])
        question = Question(shown.cover, weight, shown.join, cost, need)
        if seconds is None:
            found = joined_cover(question)
        else:
            found = fewest(question, max(seconds / 4.0, ends - time.monotonic()))
        if found is None or not found.chosen:
            break
        cover = found
        if not more:
            bound = max(2, cover.lower_bound)
        chosen = [shown.reached[i] for i in cover.chosen]
        short = target - _measured(chosen, region).region_fraction
        if short <= 1e-6:
            break
        if attempt:
            more += short + 0.0003
        else:
            shown = shown_by(shown.reached, region, overlap, MORE_CELLS)
    chosen = _filled_up(whole, region, target, chosen)
    places = [whole.reached.index(field) for field in chosen]
    order = ordered([(f.h, f.v) for f in chosen], whole.join[np.ix_(places, places)])
    return cover._replace(lower_bound=bound), [chosen[i] for i in order]


def _filled_up(shown: Shown, region: Region, target: float, chosen: list[Reached]) -> list[Reached]:
    """With the joined gaze that shows most of what is missing, for as long as the target is missed on the
    outlines: cells that are nearly all needed flatter however fine they are."""
    while shown_together(chosen, region)[0] < target - 1e-6 and len(chosen) < len(shown.reached):
        places = [shown.reached.index(field) for field in chosen]
        next_to = np.flatnonzero(neighbours(shown.join, places)) if places else range(len(shown.reached))
        able = [shown.reached[i] for i in next_to]
        chosen = [*chosen, max(able, key=lambda field: shown_together([*chosen, field], region)[0])]
    return chosen


def _by_itself(shown: Shown, region: Region, target: float) -> Reached | None:
    """The least uncomfortable gaze that shows enough by itself, by its outline."""
    alone = shown.cover.sum(axis=0) / shown.cells
    able = [shown.reached[i] for i in np.flatnonzero(alone >= target - BORDERLINE)]
    for field in sorted(able, key=lambda field: (round(field.discomfort, 6), abs(field.h), field.h, field.v)):
        if shown_together([field], region)[0] >= target - 1e-6:
            return field
    return None


def _measured(fields: Sequence[Reached], region: Region) -> Coverage:
    return coverage([cone_of(field) for field in fields], region)


def _reason(
    region: Region, asked: PlanAsked, reachable: float, together: float, able: Sequence[str]
) -> PlanReason:
    if reachable >= asked.coverage - 1e-6:
        return PlanReason(
            code="fields_do_not_join",
            sentence=f"{region.name}: {asked.coverage:.0%} is asked and can be reached, but fields joined by"
            f" {asked.overlap:.0%} show at most {_percent_down(together)} together. Ask for less overlap.",
        )
    instead = (
        f" These can show it as asked: {', '.join(able)}."
        if able
        else " None of the clinic's optics can show it as asked on this face."
    )
    return PlanReason(
        code="region_beyond_reach",
        sentence=f"{region.name}: at most {_percent_down(reachable)} can be reached with this optic on this"
        f" face; {asked.coverage:.0%} is asked.{instead}",
    )


def _percent_down(fraction: float) -> str:
    """Never said as more than it is."""
    return f"{floor(fraction * 1000.0) / 10.0:g} %"


def _without(
    region: Region, asked: PlanAsked, optic: Optic, eye: EyeSide, reason: PlanReason | None, face: str
) -> FieldPlan:
    """The answer where there is no field to take."""
    return FieldPlan(
        optic=optic.id,
        eye=eye,
        region=region.id,
        asked=asked,
        feasible=False,
        reason=reason,
        fields=[],
        poses=[],
        count=0,
        lower_bound=0,
        proved=False,
        region_fraction=0.0,
        reachable_fraction=0.0,
        least_join_overlap=None,
        seconds=0.0,
        moves=0,
        turns=0,
        discomfort=0.0,
        discomfort_proved=False,
        gaps=[],
        other_optics=[],
        face=face,
    )
