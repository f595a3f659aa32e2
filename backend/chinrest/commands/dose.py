"""`chinrest dose`: the arithmetic of an approved dose rule, with the line that a second person follows."""

from datetime import date
from pathlib import Path
from typing import Any

import click
import msgspec

from chinrest.model.dye.dose import Dose, DoseRequest
from chinrest.model.dye.work import work_dose
from chinrest.model.errors import InputError
from chinrest.pack.demo import demo_path
from chinrest.pack.faults import PackFaults
from chinrest.pack.opening import open_guidance

from .ending import CommandError
from .numbers import Whole
from .printing import end_with_faults, print_json

STOPPED = 3
"""Exit status of a stop: neither success, so that nothing goes on by it, nor a question that was badly put
(1, 2)."""
OPTIONS = {
    "dye": "--dye",
    "with_dye": "--with",
    "weight_kg": "--weight-kg",
    "band": "--age",
    "concentration_mg_ml": "--concentration-mg-ml",
    "made_up_min": "--made-up-min",
    "on": "--on",
}
"""What the model calls a field -> what it is called here."""
AMOUNTS = (
    "dose_mg",
    "volume_ml",
    "drawn_mg",
    "concentration_mg_ml",
    "per_kg",
    "total_mg",
    "total_per_kg",
    "flush_ml",
    "use_by_h",
)


@click.command(name="dose")
@click.option("--dye", required=True, metavar="ID", help="Dye, by its id in the pack.")
@click.option("--weight-kg", default="", metavar="KG", help="Weighed, in kilograms, with a point: 18.5.")
@click.option(
    "--age", default="", metavar="ID", help="Age band, by its id in the pack: which weights are usual."
)
@click.option("--weight-confirmed", is_flag=True, help="Somebody answered that an unusual weight is right.")
@click.option("--with", "with_dye", default="", metavar="ID", help="The other dye of this visit.")
@click.option(
    "--concentration-mg-ml",
    default="",
    metavar="MG_ML",
    help="Read off the vial. Default: the pack's, if any.",
)
@click.option("--made-up-min", type=Whole(), metavar="MIN", help="Minutes since the dye was made up.")
@click.option("--on", default=None, metavar="DATE", help="YYYY-MM-DD. Default: today.")
@click.option(
    "--pack", "pack_path", type=click.Path(path_type=Path), metavar="DIR", help="Default: the demo's."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")
def dose(
    dye: str,
    weight_kg: str,
    age: str,
    weight_confirmed: bool,
    with_dye: str,
    concentration_mg_ml: str,
    made_up_min: int | None,
    on: str | None,
    pack_path: Path | None,
    as_json: bool,
) -> None:
    """Work out what an approved rule comes to for one weight. Never advice on a dose.

    It checks arithmetic against what the clinic's lead approved; the local protocol and the licensed person
    who gives it decide. A stop (rule not approved or out of date, unusual weight, a ceiling) shows its
    reason and no amount, and ends with status 3. What was badly put ends with status 1.
    """
    try:
        guidance = open_guidance(demo_path() if pack_path is None else pack_path)
        if guidance.dosing is None:
            raise InputError("dye", f'is "{dye}"; this pack has no dose rules')
        answer = work_dose(
            DoseRequest(
                dye=dye,
                on=date.today().isoformat() if on is None else on,
                weight_kg=weight_kg,
                band=age,
                weight_confirmed=weight_confirmed,
                concentration_mg_ml=concentration_mg_ml,
                with_dye=with_dye,
                made_up_min=made_up_min,
            ),
            guidance.dyes,
            guidance.dosing,
        )
    except PackFaults as error:
        end_with_faults(error, as_json=as_json)
    except InputError as error:
        raise CommandError("value", OPTIONS.get(error.field, error.field), error.why) from None
    except FileNotFoundError as error:
        raise CommandError("no_demo", "--pack", str(error)) from None
    if as_json:
        print_json(as_numbers(answer))
    else:
        click.echo("\n".join(in_words(answer)))
    if answer.stop:
        raise SystemExit(STOPPED)


def as_numbers(answer: Dose) -> dict[str, Any]:
    """The answer with its amounts as JSON numbers, in the digits that were worked out."""
    plain: dict[str, Any] = msgspec.to_builtins(answer)
    for name in AMOUNTS:
        if isinstance(plain[name], str):
            plain[name] = float(plain[name]) if "." in plain[name] else int(plain[name])
    return plain


def in_words(answer: Dose) -> list[str]:
    """The answer for a person, one line each."""
    if answer.stop or answer.working is None:
        return [f"Stop: {answer.stop.reason if answer.stop else 'no dose'}", answer.caution]
    lines = [f"{answer.name}: {answer.working}"]
    if answer.flush_ml:
        lines.append(f"Then {answer.flush_ml} mL of saline")
    if answer.use_by_h:
        lines.append(f"Use within {answer.use_by_h} h after it was made up")
    if answer.arm_to_eye_s:
        lines.append("In the eye from about {:g} to {:g} s after injection".format(*answer.arm_to_eye_s))
    lines.append(f"Rule approved by {answer.approved_by} on {answer.approved_on}, until {answer.valid_until}")
    return [*lines, *(f"Note: {caution}" for caution in answer.cautions), answer.caution]
