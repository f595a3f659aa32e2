"""`chinrest choose`: which optic to take, every optic with its figures and one suggested."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import click

from chinrest.model.choice import Choice, ChoiceAsked, ChoiceRow, check_choice
from chinrest.model.choice import choose as choice_of
from chinrest.model.errors import InputError
from chinrest.model.fields.plan import plan
from chinrest.model.fields.reach import Reach, not_computed
from chinrest.model.fit import EyeSide
from chinrest.model.optic import Modality
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.opening import open_guidance
from chinrest.pack.regions import region_by_id
from chinrest.pack.replanning import asked_of
from chinrest.pack.schema import Pack
from chinrest.pack.source import Source

from .ending import CommandError
from .face_options import OPTIONS, asked_options, patient_of
from .fit import CAUTION
from .numbers import Number
from .printing import end_with_faults, print_json

SECONDS = 4.0
"""How long each optic's plan may take to be proved; beyond that the fewest that are sure to be needed
stand."""


@click.command(name="choose")
@asked_options
@click.option(
    "--modality", "modalities", multiple=True, type=click.Choice(get_args(Modality)), help="Again for each."
)
@click.option("--cross-sections", is_flag=True, help="Cross-sections are asked for.")
@click.option("--detail", type=Number(), metavar="PX/DEG", help="Least pixels per degree.")
@click.option("--minutes", type=Number(), metavar="MIN", help="Most minutes for the fields of this eye.")
def choose(
    eye: EyeSide,
    region: str,
    coverage: float | None,
    overlap: float | None,
    modalities: tuple[Modality, ...],
    cross_sections: bool,
    detail: float | None,
    minutes: float | None,
    pack_path: Path | None,
    as_json: bool,
    **face: Any,
) -> None:
    """Compare the clinic's optics for what is asked and this face, and suggest one with its reason.

    The quickest is suggested; with `--minutes` the one farthest from the eye that keeps to them. It is a
    suggestion: who takes the images decides.
    """
    asked = ChoiceAsked(
        modalities=list(modalities),
        cross_sections=cross_sections,
        detail_px_per_deg=detail,
        minutes=minutes,
    )
    try:
        guidance = open_guidance(demo_path() if pack_path is None else pack_path)
        found = chosen(guidance, asked, eye, region, coverage, overlap, face)
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except InputError as error:
        raise CommandError("value", OPTIONS.get(error.field, error.field), error.why) from None
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--pack", str(error)) from None
    if as_json:
        print_json(found)
    else:
        click.echo("\n".join(in_words(found)))


def chosen(
    guidance: Source | Pack,
    asked: ChoiceAsked,
    eye: EyeSide,
    region: str,
    coverage: float | None,
    overlap: float | None,
    face: dict[str, Any],
) -> Choice:
    """The table. Raises InputError."""
    check_choice(asked)
    wanted = region_by_id(region, guidance.own_regions)
    fractions = asked_of(guidance, region, coverage, overlap)
    patient = patient_of(guidance.faces, **face)
    reaches = [Reach(patient, optic, eye, guidance.faces, guidance.limits) for optic in guidance.optics]
    plans = [
        plan(
            wanted,
            fractions,
            reach.optic,
            eye,
            patient,
            guidance.faces,
            guidance.limits,
            others=[] if not_computed(patient, reach.optic, eye, guidance.faces) else reaches,
            pace=guidance.pace,
            seconds=SECONDS,
            reach=reach,
        )
        for reach in reaches
    ]
    return choice_of(asked, guidance.optics, plans, eye, region)


def in_words(found: Choice) -> Iterator[str]:
    """The table for a person, one line each."""
    for row in found.rows:
        mark = "suggested" if row.optic == found.suggested else _mark(row)
        yield f"{row.name} [{mark}]: {row.says}"
        if row.fields and row.why_not:
            yield f"  {' '.join(row.why_not)}"
    yield found.reason
    yield CAUTION


def _mark(row: ChoiceRow) -> str:
    if not row.possible:
        return "not possible"
    return f"dominated by {', '.join(row.dominated_by)}" if row.dominated_by else "possible"
