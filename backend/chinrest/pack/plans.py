"""Plans, known patterns, sweeps and the choice of optic for every reach class: what a pack holds of fields.

Heavy: each piece is kept in the cache under the hash of all that it follows from, and worked out only where
the cache has none.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from functools import partial
from itertools import product
from typing import Any, NamedTuple, TypeVar, get_args

import msgspec
from msgspec import Struct, structs

from chinrest.model.choice import ChoiceAsked, choose
from chinrest.model.face import EyeDepthClass, FaceMeasures, FaceTables, NeckClass, NoseClass
from chinrest.model.fields.patterns import Pattern, patterns, placements
from chinrest.model.fields.plan import FieldPlan, name_others, plan
from chinrest.model.fields.reach import Patient, Reach, candidates, reference_measures
from chinrest.model.fields.seconds import turn_numbers
from chinrest.model.fields.sweep import Sweep, sweep
from chinrest.model.optic import Optic
from chinrest.model.retina.angles import MODEL
from chinrest.model.retina.regions import Region
from chinrest.model.series.pace import Pace

from .plan_cache import PlanCache
from .planned import (
    USUAL_CLASS,
    PackChoice,
    PackPattern,
    PackPlan,
    PackSweep,
    PatternName,
    ReachClass,
)
from .regions import DrawnRegion, region_by_id
from .source import Source

SECONDS = 20.0
"""A net for each plan: what is kept is made once, so a proof may take longer than when a person waits."""
RULES = 2
"""Number of the way in which plans are made: raised with every change of it, so that the cache is remade."""
Entry = TypeVar("Entry", PackPlan, PackPattern, PackSweep, PackChoice)


class Kept(Struct, frozen=True, kw_only=True):
    """What the cache holds for one optic, region and reach class."""

    plan: FieldPlan
    patterns: list[Pattern]


class Planned(NamedTuple):
    """What a pack takes over."""

    reach_classes: list[ReachClass]
    plans: list[PackPlan]
    pattern_names: list[PatternName]
    patterns: list[PackPattern]
    sweeps: list[PackSweep]
    optic_choices: list[PackChoice]


def reach_classes() -> list[ReachClass]:
    """Every class; the same in each pack."""
    kinds = product(get_args(EyeDepthClass), get_args(NoseClass), get_args(NeckClass))
    return [
        ReachClass(id=f"{depth}.{nose}.{neck}", eye_depth=depth, nose=nose, neck=neck)
        for depth, nose, neck in kinds
    ]


def planned(source: Source, cache: PlanCache, told: Callable[[str], None] = lambda _: None) -> Planned:
    """All of it; `told` hears what is being worked out. Where the planning names no region there is
    nothing."""
    if not source.planning.regions:
        return Planned([], [], [], [], [], [])
    work = _Work(source, cache, told)
    classes = reach_classes()
    plans: list[PackPlan] = []
    beside: list[PackPattern] = []
    choices: list[PackChoice] = []
    names: dict[str, PatternName] = {}
    for wanted in source.planning.regions:
        for each in classes:
            kept = [work.kept(optic, wanted.id, each) for optic in source.optics]
            for optic, one in zip(source.optics, kept, strict=True):
                plans.append(_pack_plan(one.plan, each, source.pace))
                for pattern in one.patterns:
                    names[pattern.id] = PatternName(id=pattern.id, name=pattern.name, source=pattern.source)
                    beside.append(_pack_pattern(pattern, optic.id, wanted.id, each))
            choices.append(_choice(source.optics, kept, wanted.id, each))
    sweeps = [
        _pack_sweep(work.sweep(optic, each), optic.id, each) for optic in source.optics for each in classes
    ]
    return Planned(classes, alike(plans), list(names.values()), alike(beside), alike(sweeps), alike(choices))


def usual_plans(source: Source, cache: PlanCache, regions: Collection[str]) -> list[PackPlan]:
    """The reference adult's plans of these regions, as a series is laid by them."""
    usual = next(each for each in reach_classes() if each.id == USUAL_CLASS)
    work = _Work(source, cache, lambda _: None)
    return [
        _pack_plan(work.kept(optic, wanted.id, usual).plan, usual, source.pace)
        for wanted in source.planning.regions
        if wanted.id in regions
        for optic in source.optics
    ]


def alike(entries: Iterable[Entry]) -> list[Entry]:
    """Entries that differ in nothing but their classes, as one."""
    found: dict[bytes, Entry] = {}
    classes: dict[bytes, list[str]] = {}
    for entry in entries:
        key = msgspec.json.encode(structs.replace(entry, classes=[]))
        found.setdefault(key, entry)
        classes.setdefault(key, []).extend(entry.classes)
    return [structs.replace(entry, classes=classes[key]) for key, entry in found.items()]


class _Work:
    """Works out or takes from the cache; what several need (a reach) is made once, and only when needed."""

    def __init__(self, source: Source, cache: PlanCache, told: Callable[[str], None]) -> None:
        self.source, self.cache, self.told = source, cache, told
        self.regions = {
            each.id: region_by_id(each.id, source.own_regions) for each in source.planning.regions
        }
        self._reaches: dict[tuple[str, str], Reach] = {}
        self._made: dict[tuple[str, str], Kept] = {}

    def reach(self, optic: Optic, each: ReachClass) -> Reach:
        key = (optic.id, each.id)
        if key not in self._reaches:
            patient = class_patient(self.source.faces, each)
            self._reaches[key] = Reach(patient, optic, "right", self.source.faces, self.source.limits)
        return self._reaches[key]

    def kept(self, optic: Optic, region: str, each: ReachClass) -> Kept:
        source, drawn = self.source, self.regions[region]
        follows = _follows(source, optic, each)
        follows |= {
            "region": _drawn(drawn, source.own_regions),
            "asked": source.planning.asked(region),
            "optics": [_plain(other) for other in source.optics],
        }
        name = f"{optic.id}, {region}, {each.id}"
        return self.cache.get(follows, Kept, partial(self._plan, optic, drawn, each), name, self.told)

    def sweep(self, optic: Optic, each: ReachClass) -> Sweep:
        overlap = self.source.planning.overlap
        follows = _follows(self.source, optic, each) | {"sweep": overlap}
        name = f"sweep, {optic.id}, {each.id}"
        made = partial(self._sweep, optic, each, overlap)
        return self.cache.get(follows, Sweep, made, name, self.told)

    def _plan(self, optic: Optic, drawn: Region, each: ReachClass) -> Kept:
        """Classes that reach the same in the same way have the same plan."""
        source, reach = self.source, self.reach(optic, each)
        same = repr((optic.id, reach.all(candidates()), [placed for _, placed in placements(optic, reach)]))
        if (drawn.id, same) not in self._made:
            made = plan(
                drawn,
                source.planning.asked(drawn.id),
                optic,
                "right",
                class_patient(source.faces, each),
                source.faces,
                source.limits,
                pace=source.pace,
                seconds=SECONDS,
                reach=reach,
            )
            beside = patterns(made, drawn, optic, reach, source.pace)
            # outlines of what is missing are drawn by the phone, from the cells
            self._made[drawn.id, same] = Kept(plan=structs.replace(made, gaps=[]), patterns=beside)
        kept = self._made[drawn.id, same]
        others = [self.reach(other, each) for other in source.optics]
        return structs.replace(kept, plan=name_others(kept.plan, drawn, others))

    def _sweep(self, optic: Optic, each: ReachClass, overlap: float) -> Sweep:
        return sweep(self.reach(optic, each), overlap)


def class_patient(faces: FaceTables, each: ReachClass) -> Patient:
    """The usual face of a class. No age: the upward gaze of the oldest is counted on."""
    usual = reference_measures(faces)
    return Patient(
        measures=FaceMeasures(
            pd_mm=usual.pd_mm,
            exophthalmometry=each.eye_depth,
            nose=each.nose,
            brow=usual.brow,
            neck=each.neck,
        )
    )


def _follows(source: Source, optic: Optic, each: ReachClass) -> dict[str, Any]:
    """All that a piece of one optic and class follows from."""
    return {
        "rules": RULES,
        "model": MODEL,
        "optic": _plain(optic),
        "faces": source.faces,
        "limits": source.limits,
        "pace": source.pace,
        "class": each,
    }


def _plain(optic: Optic) -> Optic:
    """An optic without its words, which change no plan."""
    return structs.replace(optic, name="", summary="", focus_start="", focus_steps=[], swap_steps=[])


def _drawn(region: Region, drawn: Sequence[DrawnRegion]) -> dict[str, Any]:
    """By what it is drawn from: the last digits of an outline differ from machine to machine."""
    own = next((each for each in drawn if each.id == region.id), None)
    return {"id": region.id, "name": region.name, "source": region.source, "own": own}


def _pack_plan(made: FieldPlan, each: ReachClass, pace: Pace) -> PackPlan:
    return PackPlan(
        optic=made.optic,
        region=made.region,
        classes=[each.id],
        feasible=made.feasible,
        reason=made.reason.sentence if made.reason else "",
        other_optics=made.other_optics,
        fields=made.fields,
        turn=turn_numbers(made.poses, pace),
        count=made.count,
        lower_bound=made.lower_bound,
        proved=made.proved,
        region_fraction=_down(made.region_fraction),
        reachable_fraction=_down(made.reachable_fraction),
        least_join_overlap=None if made.least_join_overlap is None else _down(made.least_join_overlap),
        seconds=made.seconds,
        discomfort=made.discomfort,
    )


def _pack_pattern(made: Pattern, optic: str, region: str, each: ReachClass) -> PackPattern:
    return PackPattern(
        optic=optic,
        region=region,
        classes=[each.id],
        id=made.id,
        fields=made.fields,
        as_defined=made.as_defined,
        meets=made.meets,
        region_fraction=_down(made.region_fraction),
        least_join_overlap=None if made.least_join_overlap is None else _down(made.least_join_overlap),
        seconds=made.seconds,
        sentence=made.sentence,
    )


def _pack_sweep(made: Sweep, optic: str, each: ReachClass) -> PackSweep:
    return PackSweep(
        optic=optic, classes=[each.id], fields=made.fields, joined=made.joined, sectors=made.sectors
    )


def _choice(optics: Sequence[Optic], kept: Sequence[Kept], region: str, each: ReachClass) -> PackChoice:
    made = choose(ChoiceAsked(), optics, [one.plan for one in kept], "right", region)
    return PackChoice(
        region=region,
        classes=[each.id],
        rows=made.rows,
        quickest=made.quickest,
        farthest=made.farthest,
    )


def _down(fraction: float) -> float:
    """Four places, never more than it is."""
    return int(fraction * 10_000.0) / 10_000.0
