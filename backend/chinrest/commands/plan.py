"""`chinrest plan`: the fewest fields that show a region, for one optic and one patient."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from chinrest.model.errors import InputError
from chinrest.model.fields.patterns import Pattern
from chinrest.model.fields.plan import FieldPlan
from chinrest.model.fit import EyeSide
from chinrest.model.retina.regions import Region
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.opening import open_guidance
from chinrest.pack.regions import region_by_id
from chinrest.pack.replanning import asked_of, replan

from .coverage import MOST_GAPS_TOLD, gaze_in_words
from .ending import CommandError
from .face_options import OPTIONS, asked_options, patient_of
from .fit import CAUTION
from .printing import end_with_faults, print_json
from .retina_drawing import drawn


@click.command(name="plan")
@click.option("--optic", required=True, metavar="ID", help="Optic, by its id in the pack.")
@asked_options
def plan(
    optic: str,
    eye: EyeSide,
    region: str,
    coverage: float | None,
    overlap: float | None,
    pack_path: Path | None,
    as_json: bool,
    **face: Any,
) -> None:
    """Plan the fewest fields that show a region, joined, and set known patterns beside them.

    Gazes are where the eye looks from the instrument's axis, in degrees: nasal +, up +. A region that cannot
    be shown as asked is an answer: the exit status is 0, and non-zero only where the question could not be
    asked. The JSON then has `feasible` false, `reason` with its code and sentence, how much can be reached in
    `reachable_fraction`, the outlines of the rest in `gaps` (mm on the map), the optics that can in
    `other_optics`, and fields that show nearly all that can be.
    """
    try:
        guidance = open_guidance(demo_path() if pack_path is None else pack_path)
        wanted = region_by_id(region, guidance.own_regions)
        made = replan(
            guidance,
            optic,
            eye,
            wanted,
            asked_of(guidance, region, coverage, overlap),
            patient_of(guidance.faces, **face),
        )
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except InputError as error:
        raise CommandError("value", OPTIONS.get(error.field, error.field), error.why) from None
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--pack", str(error)) from None
    if as_json:
        named = {name: getattr(made.plan, name) for name in made.plan.__struct_fields__}
        print_json({**named, "patterns": made.patterns})
    else:
        click.echo("\n".join(in_words(made.plan, made.patterns, wanted)))


def in_words(found: FieldPlan, beside: list[Pattern], region: Region) -> Iterator[str]:
    """The answer for a person, one line each; what is missing of the region is drawn."""
    if found.reason:
        yield found.reason.sentence
    if found.gaps and not found.feasible:
        sizes = [f"{gap.area_mm2:.1f}" for gap in found.gaps]
        more = f" and {len(sizes) - MOST_GAPS_TOLD} smaller" if len(sizes) > MOST_GAPS_TOLD else ""
        yield f"Beyond reach: {', '.join(sizes[:MOST_GAPS_TOLD])} mm²{more}"
        yield from drawn(region, found.fields, found.gaps, found.eye)
    if found.fields:
        proof = "proved the fewest" if found.proved else f"at least {found.lower_bound} are needed"
        joins = (
            ""
            if found.least_join_overlap is None
            else f", joined by at least {found.least_join_overlap:.0%} of the smaller field"
        )
        yield (
            f"{found.count} field{'s' if found.count > 1 else ''} ({proof}) show {found.region_fraction:.1%}"
            f" of {found.region}{joins}; about {found.seconds:.0f} s"
        )
        for i, ((h, v, field_deg), pose) in enumerate(zip(found.fields, found.poses, strict=True), 1):
            yield (
                f"  {i}. look {gaze_in_words(h, v)}: field {field_deg:g}°, turn {pose.yaw_deg:g}°,"
                f" chin {pose.pitch_deg:g}°, {pose.working_distance_mm:g} mm"
            )
    for pattern in beside:
        yield f"{pattern.name}: {pattern.sentence}"
    yield f"Face: {found.face}."
    yield CAUTION
