"""The arithmetic: from an approved rule and one weight to an amount, a volume, and a line that can be
followed.

Nothing is rounded but the volume, once, at the end. Nothing is shown unless the rule is approved and in date.
"""

from collections.abc import Sequence
from decimal import Decimal

from chinrest.model.errors import InputError

from .decimals import decimal_of, minus, plus, shown_ratio, times, whole_steps, written
from .dose import Dose, DoseRequest, DoseStop
from .rule import Dosing, Dye
from .stops import HEAVIEST_KG, date_of, rule_stop, use_by_stop, weight_stop


def work_dose(request: DoseRequest, dyes: Sequence[Dye], dosing: Dosing) -> Dose:
    """The answer. Raises InputError (field, why) for what was not said rightly; a `stop` is an answer."""
    dye = _dye("dye", request.dye, dyes)
    other = _dye("with_dye", request.with_dye, dyes) if request.with_dye else None
    if other is dye:
        raise InputError("with_dye", "is the same dye; name the other one")
    today = date_of("on", request.on)
    concentration = _concentration(request, dye)
    weight = _weight(request, dye, other, dosing)
    stop = rule_stop(dye, today) or (rule_stop(other, today) if other else None)
    stop = stop or weight_stop(request, weight, dosing) or use_by_stop(request, dye)
    if stop:
        return _answer(request, dye, dosing, stop=stop)
    return _worked(request, dye, other, dosing, weight, concentration)


def _dye(field: str, name: str, dyes: Sequence[Dye]) -> Dye:
    if not name:
        raise InputError(field, "is missing")
    for dye in dyes:
        if dye.id == name:
            return dye
    known = ", ".join(dye.id for dye in dyes) or "none"
    raise InputError(field, f'is "{name}"; this pack has no rule for it; it has {known}')


def _concentration(request: DoseRequest, dye: Dye) -> Decimal:
    field, known = "concentration_mg_ml", ", ".join(dye.concentrations_mg_ml)
    text = request.concentration_mg_ml or dye.default_concentration_mg_ml
    if not text:
        raise InputError(field, f"is missing; read it off the vial; this clinic's are {known}")
    value = decimal_of(field, text)
    if value not in [Decimal(one) for one in dye.concentrations_mg_ml]:
        raise InputError(field, f'is "{text}"; this clinic\'s are {known}')
    return value


def _weight(request: DoseRequest, dye: Dye, other: Dye | None, dosing: Dosing) -> Decimal | None:
    needed = dye.rule == "per_kg" or dye.keep_below_mg_per_kg != ""
    if other is not None:
        needed = needed or other.rule == "per_kg" or dosing.keep_total_below_mg_per_kg != ""
    if not request.weight_kg and not needed:
        return None
    weight = decimal_of("weight_kg", request.weight_kg)
    if weight > HEAVIEST_KG:
        raise InputError("weight_kg", f'is "{request.weight_kg}"; nobody weighs more than {HEAVIEST_KG} kg')
    return weight


def _by_rule(dye: Dye, weight: Decimal | None) -> tuple[Decimal, Decimal | None]:
    """The dose in mg after its cap, and before it where the cap took hold."""
    if dye.rule == "fixed":
        return Decimal(dye.fixed_mg), None
    if weight is None:
        raise InputError("weight_kg", "is missing")
    raw, cap = times(weight, Decimal(dye.per_kg_mg)), Decimal(dye.cap_mg)
    return (cap, raw) if raw > cap else (raw, None)


def _worked(
    request: DoseRequest,
    dye: Dye,
    other: Dye | None,
    dosing: Dosing,
    weight: Decimal | None,
    concentration: Decimal,
) -> Dose:
    dose, raw = _by_rule(dye, weight)
    more = _by_rule(other, weight)[0] if other else Decimal(0)
    total = plus(dose, more)
    for one, amount in ((dye, dose), (other, more)):
        if weight is not None and one and one.keep_below_mg_per_kg and amount >= _ceiling(one, weight):
            return _answer(request, dye, dosing, stop=_not_below(one, amount, weight))
    # what the rounded volume holds must stay below all of these, and not pass the cap
    below = [_ceiling(dye, weight)] if weight is not None and dye.keep_below_mg_per_kg else []
    if weight is not None and other and dosing.keep_total_below_mg_per_kg:
        ceiling = times(weight, Decimal(dosing.keep_total_below_mg_per_kg))
        if total >= ceiling:
            return _answer(request, dye, dosing, stop=_not_below_total(dosing, dye, other, total, weight))
        # each of the two dyes may round into half of what is left, so that both together stay below
        below.append(_half(minus(plus(ceiling, dose), more)))
    step = Decimal(dye.rounding_step_ml)
    steps, half = whole_steps(dose, times(concentration, step))
    held = False
    if half and dye.rounding == "nearest":
        up = times(times(plus(steps, Decimal(1)), step), concentration)
        held = up > Decimal(dye.cap_mg) or any(up >= limit for limit in below)
        steps = steps if held else plus(steps, Decimal(1))
    if not steps:
        return _answer(request, dye, dosing, stop=_too_small(dye, dose, concentration))
    volume = times(steps, step)
    working = _line(dye, weight, dose, raw, volume, concentration, held)
    if other:
        working += f"; with {written(more)} mg of {other.name}: {written(total)} mg in all"
        working += f", {written(shown_ratio(total, weight))} mg/kg" if weight is not None else ""
    return _answer(
        request,
        dye,
        dosing,
        dose_mg=written(dose),
        volume_ml=written(volume),
        drawn_mg=written(times(volume, concentration)),
        concentration_mg_ml=written(concentration),
        capped=raw is not None,
        per_kg=None if weight is None else written(shown_ratio(dose, weight)),
        total_mg=written(total) if other else None,
        total_per_kg=written(shown_ratio(total, weight)) if other and weight is not None else None,
        working=working,
    )


def _ceiling(dye: Dye, weight: Decimal) -> Decimal:
    return times(weight, Decimal(dye.keep_below_mg_per_kg))


def _half(value: Decimal) -> Decimal:
    """Exactly half."""
    return times(value, Decimal("0.5"))


def _line(
    dye: Dye,
    weight: Decimal | None,
    dose: Decimal,
    raw: Decimal | None,
    volume: Decimal,
    concentration: Decimal,
    held: bool,
) -> str:
    """What a second person works through: "18 kg × 7.7 mg/kg = 138.6 mg → 1.39 mL of 100 mg/mL"."""
    if dye.rule == "fixed" or weight is None:
        line = f"{written(dose)} mg fixed"
    else:
        line = f"{written(weight)} kg × {written(Decimal(dye.per_kg_mg))} mg/kg = {written(raw or dose)} mg"
        line += "" if raw is None else f", capped at {written(dose)} mg"
    line += f" → {written(volume)} mL of {written(concentration)} mg/mL"
    return line + (", rounded down so as not to pass a ceiling" if held else "")


def _not_below(dye: Dye, dose: Decimal, weight: Decimal) -> DoseStop:
    reason = (
        f"{dye.name}: {written(dose)} mg is {written(shown_ratio(dose, weight))} mg/kg"
        f" for {written(weight)} kg; the approved rule asks for less than {dye.keep_below_mg_per_kg} mg/kg."
        " The physician decides."
    )
    return DoseStop(code="not_below_per_kg", reason=reason)


def _not_below_total(dosing: Dosing, dye: Dye, other: Dye, total: Decimal, weight: Decimal) -> DoseStop:
    reason = (
        f"{dye.name} and {other.name}: {written(total)} mg in all is"
        f" {written(shown_ratio(total, weight))} mg/kg for {written(weight)} kg;"
        f" the clinic asks for less than {dosing.keep_total_below_mg_per_kg} mg/kg in all."
        " The physician decides."
    )
    return DoseStop(code="not_below_total", reason=reason)


def _too_small(dye: Dye, dose: Decimal, concentration: Decimal) -> DoseStop:
    reason = (
        f"{dye.name}: {written(dose)} mg of {written(concentration)} mg/mL is too little to measure"
        f" in steps of {dye.rounding_step_ml} mL. The physician decides."
    )
    return DoseStop(code="too_small", reason=reason)


def _answer(
    request: DoseRequest,
    dye: Dye,
    dosing: Dosing,
    *,
    stop: DoseStop | None = None,
    dose_mg: str | None = None,
    volume_ml: str | None = None,
    drawn_mg: str | None = None,
    concentration_mg_ml: str | None = None,
    capped: bool = False,
    per_kg: str | None = None,
    total_mg: str | None = None,
    total_per_kg: str | None = None,
    working: str | None = None,
) -> Dose:
    return Dose(
        dye=dye.id,
        name=dye.name,
        dose_mg=dose_mg,
        volume_ml=volume_ml,
        drawn_mg=drawn_mg,
        concentration_mg_ml=concentration_mg_ml,
        capped=capped,
        per_kg=per_kg,
        with_dye=request.with_dye or None,
        total_mg=total_mg,
        total_per_kg=total_per_kg,
        working=working,
        flush_ml=None if stop else dye.flush_ml,
        use_by_h=None if stop else dye.use_by_h or None,
        arm_to_eye_s=None if stop else dye.arm_to_eye_s,
        stop=stop,
        approved_by=dye.approved_by,
        approved_on=dye.approved_on,
        valid_until=dye.valid_until,
        cautions=dye.cautions,
        caution=dosing.caution,
    )
