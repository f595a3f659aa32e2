"""`chinrest fit`: the positioning model's answer for one patient, optic and gaze."""

from pathlib import Path
from typing import get_args

import click

from chinrest.model.answer import fit_request
from chinrest.model.errors import InputError
from chinrest.model.face import BrowClass, EyeDepthClass, FaceMeasures, NeckClass, NoseClass
from chinrest.model.fit import AgeBand, EyeSide, FitRequest, FitResult
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.opening import open_guidance

from .ending import CommandError
from .numbers import Number, foreign_digit, number_of
from .printing import end_with_faults, print_json

WORDS = {
    "likely_clear": "likely clear",
    "close": "close",
    "expect_to_adjust": "expect to adjust",
}
OPTIONS = {
    "optic": "--optic",
    "pd_mm": "--pd",
    "exophthalmometry": "--exophthalmometry",
    "gaze_deg": "--gaze",
    "pupil_mm": "--pupil",
    "target_cm": "--target-cm",
    "at_deg": "--at",
    "at_distance_mm": "--at",
}
"""What the model calls a field -> what it is called here."""

CAUTION = "Watch the gap from the side on every approach. Local rules and the handbook come first."


class Numbers(click.ParamType[tuple[float, ...]]):
    """Numbers with commas between, such as `10,-5`."""

    def __init__(self, *names: str, optional: int = 0) -> None:
        self.names = names
        self.least = len(names) - optional
        required, rest = names[: self.least], names[self.least :]
        self.name = ",".join(required) + "".join(f"[,{name}]" for name in rest)

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, ...]:
        parts = str(value).split(",")
        try:
            numbers = tuple(number_of(part) for part in parts)
        except ValueError as error:
            why = foreign_digit(str(value)) or f"{value!r} must be numbers as {self.name}: {error}"
            self.fail(why, param, ctx)
        if not self.least <= len(numbers) <= len(self.names):
            self.fail(f"{value!r} has {len(numbers)} numbers; must be {self.name}", param, ctx)
        return numbers


class EyeDepth(click.ParamType[float | EyeDepthClass]):
    """Exophthalmometry in mm, or the class as judged."""

    name = "|".join(["mm", *get_args(EyeDepthClass)])

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float | EyeDepthClass:
        for judged in get_args(EyeDepthClass):
            if value == judged:
                return judged  # type: ignore[no-any-return]  # get_args forgets what it returns
        try:
            return number_of(str(value))
        except ValueError:
            self.fail(foreign_digit(str(value)) or f"{value!r} must be {self.name}", param, ctx)


@click.command(name="fit")
@click.option("--optic", required=True, metavar="ID", help="Optic, by its id in the pack.")
@click.option("--eye", required=True, type=click.Choice(get_args(EyeSide)), help="The imaged eye.")
@click.option("--pd", required=True, type=Number(), metavar="MM", help="Interpupillary distance.")
@click.option("--exophthalmometry", required=True, type=EyeDepth(), help="In mm, or as judged.")
@click.option("--nose", required=True, type=click.Choice(get_args(NoseClass)), help="Bridge of the nose.")
@click.option("--brow", required=True, type=click.Choice(get_args(BrowClass)))
@click.option("--neck", required=True, type=click.Choice(get_args(NeckClass)))
@click.option(
    "--gaze",
    type=Numbers("H", "V"),
    default="0,0",
    show_default=True,
    help="Where the eye looks from the instrument's axis, degrees; nasal +, up +.",
)
@click.option("--pupil", type=Number(), metavar="MM", help="Measured pupil.")
@click.option("--age-band", type=click.Choice(get_args(AgeBand)), help="Default: the most careful band.")
@click.option("--target-cm", type=Number(), metavar="CM", help="Distance of the outside light.")
@click.option(
    "--at",
    type=Numbers("YAW", "PITCH", "DISTANCE", optional=1),
    help="Judge this pose (degrees, mm) instead of solving for one.",
)
@click.option(
    "--pack", "pack_path", type=click.Path(path_type=Path), metavar="DIR", help="Default: the demo's."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")
def fit(
    optic: str,
    eye: EyeSide,
    pd: float,
    exophthalmometry: float | EyeDepthClass,
    nose: NoseClass,
    brow: BrowClass,
    neck: NeckClass,
    gaze: tuple[float, float],
    pupil: float | None,
    age_band: AgeBand | None,
    target_cm: float | None,
    at: tuple[float, ...] | None,
    pack_path: Path | None,
    as_json: bool,
) -> None:
    """Compute how far to turn the head, how close to come and where the eye looks.

    It knows published tables, not this patient: watch the gap from the side. An answer of `infeasible` is an
    answer: the exit status is 0, and non-zero only where the question could not be asked.
    """
    try:
        guidance = open_guidance(demo_path() if pack_path is None else pack_path)
        result = fit_request(
            FitRequest(
                optic=optic,
                eye=eye,
                measures=FaceMeasures(
                    pd_mm=pd, exophthalmometry=exophthalmometry, nose=nose, brow=brow, neck=neck
                ),
                gaze_deg=gaze,
                pupil_mm=pupil,
                age_band=age_band,
                target_cm=target_cm,
                at_deg=None if at is None else (at[0], at[1]),
                at_distance_mm=at[2] if at is not None and len(at) == 3 else None,
            ),
            guidance.optics,
            guidance.faces,
            guidance.limits,
        )
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except InputError as error:
        raise CommandError("value", OPTIONS.get(error.field, error.field), error.why) from None
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--pack", str(error)) from None
    if as_json:
        print_json(result)
    else:
        click.echo("\n".join(in_words(result)))


def in_words(result: FitResult) -> list[str]:
    """The answer for a person, one line each."""
    if result.yaw_deg is None or result.pitch_deg is None or result.clearance_mm is None:
        sentence = result.reason.sentence if result.reason else "no pose"
        lines = [f"No computed turn: {sentence}"]
        if result.other_optics:
            lines.append(f"Would fit: {', '.join(result.other_optics)}")
        return [*lines, CAUTION]
    lines = [result.reason.sentence] if result.reason else []
    lines += [
        turn_in_words(result),
        f"Working distance {result.working_distance_mm:.1f} mm; field {result.field_deg:.0f}°",
        f"Nearest: {str(result.nearest).replace('_', ' ')}, {result.clearance_mm:.1f} mm"
        f" (margin {result.margin_mm:g} mm)",
    ]
    if result.words:
        lines.append(f"Contact, by anatomy alone: {WORDS[result.words]}")
    if result.outside_light_cm:
        right, up = result.outside_light_cm
        lines.append(
            f"Outside light: {abs(right):.0f} cm to the patient's {'right' if right >= 0 else 'left'},"
            f" {abs(up):.0f} cm {'up' if up >= 0 else 'down'} from straight before the fellow eye"
        )
    elif result.outside_light_refused:
        lines.append(f"No outside light: {result.outside_light_refused.sentence}")
    return [*lines, *(f"Note: {warning.sentence}" for warning in result.warnings), CAUTION]


def turn_in_words(result: FitResult) -> str:
    """Yaw and pitch as what the patient does, sides as the patient has them."""
    yaw, pitch = result.yaw_deg or 0.0, result.pitch_deg or 0.0
    fellow, own = ("left", "right") if result.eye == "right" else ("right", "left")
    turn = f"Turn the face {abs(yaw):.1f}° to the patient's {fellow if yaw > 0 else own}"
    chin = f"chin {'up' if pitch > 0 else 'down'} {abs(pitch):.1f}°"
    return f"{turn if abs(yaw) >= 0.05 else 'No head turn'}; {chin if abs(pitch) >= 0.05 else 'chin level'}"
