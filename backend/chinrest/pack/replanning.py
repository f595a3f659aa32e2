"""A plan for one question, made from a pack or its source: another region, another face, other fractions."""

from msgspec import Struct

from chinrest.model.errors import InputError
from chinrest.model.fields.patterns import Pattern, patterns
from chinrest.model.fields.plan import SECONDS, FieldPlan, PlanAsked, plan
from chinrest.model.fields.reach import Patient, Reach, not_computed
from chinrest.model.fit import EyeSide
from chinrest.model.optic import Optic
from chinrest.model.retina.regions import Region

from .schema import Pack
from .source import Source


class Replanned(Struct, frozen=True, kw_only=True):
    """The plan, and the known patterns beside it (none where no turn is computed for this face)."""

    plan: FieldPlan
    patterns: list[Pattern]


def optic_of(guidance: Source | Pack, name: str) -> Optic:
    """By its id. Raises InputError naming those there are."""
    by_id = {optic.id: optic for optic in guidance.optics}
    if name not in by_id:
        raise InputError("optic", f"there is no optic {name!r}; there are {', '.join(by_id)}")
    return by_id[name]


def asked_of(
    guidance: Source | Pack, region: str, coverage: float | None, overlap: float | None
) -> PlanAsked:
    """What is asked, with the pack's own where nothing was said."""
    usual = guidance.planning.asked(region)
    return PlanAsked(
        coverage=usual.coverage if coverage is None else coverage,
        overlap=usual.overlap if overlap is None else overlap,
    )


def replan(
    guidance: Source | Pack,
    optic: str,
    eye: EyeSide,
    region: Region,
    asked: PlanAsked,
    patient: Patient,
    seconds: float = SECONDS,
) -> Replanned:
    """Plans anew. Raises InputError for what cannot be asked."""
    chosen = optic_of(guidance, optic)
    faces, limits = guidance.faces, guidance.limits
    reaches = {each.id: Reach(patient, each, eye, faces, limits) for each in guidance.optics}
    found = plan(
        region,
        asked,
        chosen,
        eye,
        patient,
        faces,
        limits,
        others=list(reaches.values()),
        pace=guidance.pace,
        seconds=seconds,
        reach=reaches[optic],
    )
    if not_computed(patient, chosen, eye, faces):
        return Replanned(plan=found, patterns=[])
    return Replanned(plan=found, patterns=patterns(found, region, chosen, reaches[optic], guidance.pace))
