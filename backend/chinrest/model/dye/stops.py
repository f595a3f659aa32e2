"""Why no dose is shown: a rule without approval or out of date, an unusual weight, a dye made up too long
ago."""

from datetime import date
from decimal import Decimal

from chinrest.model.errors import InputError

from .decimals import decimal_of, shown_ratio, times, written
from .dose import DoseRequest, DoseStop
from .rule import Dosing, Dye

HEAVIEST_KG = Decimal(650)
"""Above the heaviest person on record, 635 kg (from memory): a slip of the finger, not a patient."""
KG_PER_LB = Decimal("0.45359237")
"""Exact by the international yard and pound agreement of 1959."""


def date_of(field: str, text: str) -> str:
    """The text itself, when it is a date as YYYY-MM-DD: such dates compare as text. Raises InputError."""
    try:
        sound = date.fromisoformat(text).isoformat() == text
    except ValueError:
        sound = False
    if not sound:
        raise InputError(field, f'is "{text}"; must be a date as YYYY-MM-DD')
    return text


def rule_stop(dye: Dye, today: str) -> DoseStop | None:
    """Both days of the approval count as within it."""
    if not dye.approved_by.strip() or not dye.approved_on or not dye.valid_until:
        return DoseStop(
            code="not_approved", reason=f"{dye.name}: the clinic's lead has not approved this rule."
        )
    if today < dye.approved_on:
        return DoseStop(
            code="not_yet_valid",
            reason=f"{dye.name}: this rule is approved from {dye.approved_on}, and today is {today}."
            " Look at the clock of this device.",
        )
    if today > dye.valid_until:
        return DoseStop(
            code="out_of_date",
            reason=f"{dye.name}: the approval of this rule ended on {dye.valid_until}, and today is {today}.",
        )
    return None


def weight_stop(request: DoseRequest, weight: Decimal | None, dosing: Dosing) -> DoseStop | None:
    """Asks where a weight is unusual; pounds taken for kilograms are the common slip."""
    low, high, whose = dosing.ask_below_kg, dosing.ask_above_kg, ""
    if request.band:
        band = next((one for one in dosing.weights if one.id == request.band), None)
        if band is None:
            known = ", ".join(one.id for one in dosing.weights) or "none"
            raise InputError("band", f'is "{request.band}"; this pack has {known}')
        low, high, whose = band.ask_below_kg, band.ask_above_kg, f" ({band.name})"
    if weight is None or request.weight_confirmed or Decimal(low) <= weight <= Decimal(high):
        return None
    pounds = written(shown_ratio(times(weight, KG_PER_LB), Decimal(1), 1))
    said = written(weight)
    return DoseStop(
        code="weight_unlikely",
        reason=f"Is {said} kg right, and in kilograms? Usual here is {low} to {high} kg{whose}."
        f" {said} lb would be {pounds} kg. Weigh again or confirm.",
    )


def use_by_stop(request: DoseRequest, dye: Dye) -> DoseStop | None:
    minutes = request.made_up_min
    if minutes is None:
        return None
    if not 0 <= minutes <= 1_000_000:
        raise InputError("made_up_min", f'is "{minutes}"; must be minutes from 0 up')
    if not dye.use_by_h:
        return None
    if Decimal(minutes) <= times(decimal_of("use_by_h", dye.use_by_h), Decimal(60)):
        return None
    return DoseStop(
        code="past_use_by",
        reason=f"{dye.name}: made up {minutes} minutes ago, to be used within {dye.use_by_h} hours."
        " Make up a new one.",
    )
