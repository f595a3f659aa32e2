"""What may be said of the patient on the command line where none of it has to be."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, get_args

import click

from chinrest.model.face import BrowClass, EyeDepthClass, FaceMeasures, FaceTables, NeckClass, NoseClass
from chinrest.model.fields.reach import Patient, reference_measures
from chinrest.model.fit import AgeBand, EyeSide

from .fit import EyeDepth
from .numbers import Number

Command = TypeVar("Command", bound=Callable[..., Any])
OPTIONS = {
    "optic": "--optic",
    "region": "--region",
    "coverage": "--coverage",
    "overlap": "--overlap",
    "pd_mm": "--pd",
    "exophthalmometry": "--exophthalmometry",
    "pupil_mm": "--pupil",
    "detail": "--detail",
    "minutes": "--minutes",
}
"""What the model calls a field -> what it is called here."""
FACE = ("pd", "exophthalmometry", "nose", "brow", "neck")


def asked_options(command: Command) -> Command:
    """The eye, the region, how much of it and how well joined, the face, the pack and `--json`."""
    for option in reversed(
        [
            click.option(
                "--eye", required=True, type=click.Choice(get_args(EyeSide)), help="The imaged eye."
            ),
            click.option("--region", required=True, metavar="ID", help="What should be shown, by its id."),
            click.option(
                "--coverage",
                type=Number(),
                metavar="F",
                help="Least fraction of the region's area. Default: the pack's.",
            ),
            click.option(
                "--overlap",
                type=Number(),
                metavar="F",
                help="Least part of the smaller field that joined fields share. Default: the pack's.",
            ),
            click.option("--pd", type=Number(), metavar="MM", help="Interpupillary distance."),
            click.option("--exophthalmometry", type=EyeDepth(), help="In mm, or as judged."),
            click.option("--nose", type=click.Choice(get_args(NoseClass)), help="Bridge of the nose."),
            click.option("--brow", type=click.Choice(get_args(BrowClass))),
            click.option("--neck", type=click.Choice(get_args(NeckClass))),
            click.option("--pupil", type=Number(), metavar="MM", help="Measured pupil."),
            click.option(
                "--age-band", type=click.Choice(get_args(AgeBand)), help="Default: the most careful band."
            ),
            click.option(
                "--pack",
                "pack_path",
                type=click.Path(path_type=Path),
                metavar="DIR",
                help="Default: the demo's.",
            ),
            click.option("--json", "as_json", is_flag=True, help="Print JSON for machines."),
        ]
    ):
        command = option(command)
    return command


def patient_of(
    faces: FaceTables,
    pd: float | None,
    exophthalmometry: float | EyeDepthClass | None,
    nose: NoseClass | None,
    brow: BrowClass | None,
    neck: NeckClass | None,
    pupil: float | None,
    age_band: AgeBand | None,
) -> Patient:
    """The patient as far as given; what is left out of the face is the tables' reference adult's."""
    given = (pd, exophthalmometry, nose, brow, neck)
    measures: FaceMeasures | None = None
    if any(value is not None for value in given):
        usual = reference_measures(faces)
        measures = FaceMeasures(
            pd_mm=usual.pd_mm if pd is None else pd,
            exophthalmometry=usual.exophthalmometry if exophthalmometry is None else exophthalmometry,
            nose=nose or usual.nose,
            brow=brow or usual.brow,
            neck=neck or usual.neck,
        )
    return Patient(measures=measures, age_band=age_band, pupil_mm=pupil)
