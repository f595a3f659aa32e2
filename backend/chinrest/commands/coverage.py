"""`chinrest coverage`: how much of the retina a set of fields shows, and how they join."""

from pathlib import Path
from typing import get_args

import click

from chinrest.model.errors import InputError
from chinrest.model.fields.coverage import Coverage
from chinrest.model.fields.coverage import coverage as coverage_of
from chinrest.model.fit import EyeSide
from chinrest.model.retina.regions import Cone
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.opening import open_guidance
from chinrest.pack.regions import DrawnRegion, region_by_id

from .ending import CommandError
from .numbers import foreign_digit, number_of
from .printing import end_with_faults, print_json

MOST_GAPS_TOLD = 6


class Field(click.ParamType[Cone]):
    """A field such as `50@0,0`: full angle at the entrance pupil, then where the eye looks."""

    name = "DEG@H,V"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Cone:
        angle, at, gaze = str(value).partition("@")
        parts = [angle, *gaze.split(",")]
        try:
            numbers = [number_of(part) for part in parts]
        except ValueError:
            numbers = []
        if not at or len(numbers) != 3:
            why = foreign_digit(str(value)) or f"{value!r} must be {self.name}, such as 50@15,-5"
            self.fail(why, param, ctx)
        return numbers[0], numbers[1], numbers[2]


@click.command(name="coverage")
@click.option("--eye", required=True, type=click.Choice(get_args(EyeSide)), help="The imaged eye.")
@click.option(
    "--field",
    "fields",
    required=True,
    multiple=True,
    type=Field(),
    help="Full field angle at the entrance pupil, and where the eye looks: degrees; nasal +, up +. Again for"
    " each field.",
)
@click.option("--region", default="retina", show_default=True, metavar="ID", help="What should be covered.")
@click.option(
    "--pack", "pack_path", type=click.Path(path_type=Path), metavar="DIR", help="Default: the demo's."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")
def coverage(
    eye: EyeSide, fields: tuple[Cone, ...], region: str, pack_path: Path | None, as_json: bool
) -> None:
    """Work out how much of the retina and of a region these fields show, and what they share.

    Areas are of a published schematic eye, out to the ora; a living eye's retina may be a fifth larger or
    smaller. Both eyes share one frame, nasal positive.
    """
    try:
        drawn = own_regions(demo_path() if pack_path is None else pack_path)
        found = coverage_of(fields, region_by_id(region, drawn))
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except InputError as error:
        raise CommandError("value", f"--{error.field}", error.why) from None
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--pack", str(error)) from None
    if as_json:
        print_json({"eye": eye, **{name: getattr(found, name) for name in found.__struct_fields__}})
    else:
        click.echo("\n".join(in_words(found, eye)))


def own_regions(path: Path) -> list[DrawnRegion]:
    """The clinic's own regions, from a source folder or a compiled pack. Raises PackFaults."""
    return open_guidance(path).own_regions


def in_words(found: Coverage, eye: EyeSide) -> list[str]:
    """The answer for a person, one line each."""
    lines = [
        f"{eye.capitalize()} eye, {len(found.fields)} field{'s' if len(found.fields) > 1 else ''}:"
        f" {found.area_mm2:.0f} mm² of retina (error at most {found.error_mm2:.2f} mm²)",
        f"{found.retina_fraction:.1%} of the whole retina, {found.retina_mm2:.0f} mm² out to the ora",
    ]
    if found.region != "retina":
        lines.append(f"{found.region_fraction:.1%} of {found.region}, {found.region_mm2:.0f} mm²")
    for i, ((field_deg, h_deg, v_deg), alone, join) in enumerate(
        zip(found.fields, found.field_mm2, found.joins, strict=True), 1
    ):
        line = f"  {i}. {field_deg:g}°, looking {gaze_in_words(h_deg, v_deg)}: {alone:.0f} mm²"
        if join is not None:
            line += f"; joined to {join.to + 1} by {join.overlap_mm2:.0f} mm² ({join.overlap_fraction:.0%})"
        lines.append(line)
    if found.least_join_overlap is not None:
        lines.append(f"Least join: {found.least_join_overlap:.0%} of the smaller field")
    if found.gaps:
        sizes = [f"{gap.area_mm2:.1f}" for gap in found.gaps]
        more = f" and {len(sizes) - MOST_GAPS_TOLD} smaller" if len(sizes) > MOST_GAPS_TOLD else ""
        lines.append(f"Not shown: {', '.join(sizes[:MOST_GAPS_TOLD])} mm²{more}")
        if found.region_reachable_fraction < 0.9995:
            beyond = 1.0 - found.region_reachable_fraction
            lines.append(f"{beyond:.1%} of {found.region} is beyond any ray through the pupil")
    else:
        lines.append("No gap")
    return [*lines, f"Model: {found.model}"]


def gaze_in_words(h_deg: float, v_deg: float) -> str:
    """Where the eye looks, sides as nasal and temporal: the same words for both eyes."""
    side = f"{abs(h_deg):g}° {'nasal' if h_deg > 0 else 'temporal'}" if h_deg else ""
    height = f"{abs(v_deg):g}° {'up' if v_deg > 0 else 'down'}" if v_deg else ""
    return ", ".join(filter(None, (side, height))) or "straight ahead"
