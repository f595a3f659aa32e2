"""Check vectors of the dose arithmetic: questions with the reference's answers, for a phone to prove
itself."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from msgspec import Struct, structs

from chinrest.model.errors import InputError

from .decimals import written
from .dose import DoseRequest, DoseStop
from .rule import Dosing, Dye
from .work import work_dose

WEIGHTS = ("0.4", "3.25", "10", "12.5", "17.5", "18", "40", "64.9", "64.935", "65", "80", "176")
WRONG_WEIGHTS = ("", "0", "-4", "18,5", "1e9", "1000000000", "18 kg", "0.0000001", "651")


class DoseVector(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One question and what of the answer is worked out (as in `Dose`), or the (field, why) of the
    refusal."""

    request: DoseRequest
    dose_mg: str | None = None
    volume_ml: str | None = None
    drawn_mg: str | None = None
    capped: bool = False
    per_kg: str | None = None
    total_per_kg: str | None = None
    working: str | None = None
    stop: DoseStop | None = None
    refused: tuple[str, str] | None = None


def dose_vectors(dyes: Sequence[Dye], dosing: Dosing | None) -> list[DoseVector]:
    """A few dozen for each dye; none for a pack without dose rules."""
    if dosing is None:
        return []
    return [vector_of(request, dyes, dosing) for dye in dyes for request in questions(dye, dyes, dosing)]


def vector_of(request: DoseRequest, dyes: Sequence[Dye], dosing: Dosing) -> DoseVector:
    """The reference's answer to one question, in what a phone must reproduce."""
    try:
        answer = work_dose(request, dyes, dosing)
    except InputError as error:
        return DoseVector(request=request, refused=(error.field, error.why))
    return DoseVector(
        request=request,
        dose_mg=answer.dose_mg,
        volume_ml=answer.volume_ml,
        drawn_mg=answer.drawn_mg,
        capped=answer.capped,
        per_kg=answer.per_kg,
        total_per_kg=answer.total_per_kg,
        working=answer.working,
        stop=answer.stop,
    )


def questions(dye: Dye, dyes: Sequence[Dye], dosing: Dosing) -> Iterator[DoseRequest]:
    """One dye's questions: weights, bands, strengths, both dyes, dates around its approval, and slips."""
    plain = DoseRequest(dye=dye.id, on=dye.valid_until or "2000-01-01")
    for weight in WEIGHTS:
        yield structs.replace(plain, weight_kg=weight)
    others = [other.id for other in dyes if other is not dye]
    for number, weight in enumerate(WEIGHTS):
        strength = dye.concentrations_mg_ml[number % len(dye.concentrations_mg_ml)]
        yield structs.replace(
            plain,
            weight_kg=weight,
            weight_confirmed=True,
            concentration_mg_ml=strength,
            with_dye=others[number % len(others)] if others and number % 2 else "",
        )
    middling = structs.replace(plain, weight_kg="40")
    for wrong in WRONG_WEIGHTS:
        yield structs.replace(plain, weight_kg=wrong)
    for band in dosing.weights:
        for edge in (band.ask_below_kg, band.ask_above_kg):
            yield structs.replace(plain, weight_kg=edge, band=band.id)
            yield structs.replace(plain, weight_kg=written(Decimal(edge) + Decimal("0.01")), band=band.id)
    for day in _days_around(dye):
        yield structs.replace(middling, on=day)
    if dye.use_by_h:
        limit = int(Decimal(dye.use_by_h) * 60)
        for minutes in (0, limit, limit + 1, -1):
            yield structs.replace(middling, made_up_min=minutes)
    yield structs.replace(middling, concentration_mg_ml="100,0")
    yield structs.replace(middling, concentration_mg_ml="123.456")
    yield structs.replace(middling, with_dye=dye.id)
    yield structs.replace(middling, dye="no_such_dye")
    yield structs.replace(middling, on="25.11.2026")


def _days_around(dye: Dye) -> Iterator[str]:
    for text, offset in ((dye.approved_on, -1), (dye.approved_on, 0), (dye.valid_until, 1)):
        if text:
            day = date.fromisoformat(text)
            if (offset > 0 and day < date.max) or (offset <= 0 and day > date.min):
                yield (day + timedelta(days=offset)).isoformat()
