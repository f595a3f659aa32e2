"""Do the dose rules of a source hold together? Each contradiction by file, key and reason."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from chinrest.model.dye.decimals import reason_against
from chinrest.model.dye.rule import Dosing, Dye, WeightBand

from .dye_parts import FILES, DyeParts
from .faults import PackFault

FILE = "dyes.toml"
DECIMALS = ("cap_mg", "rounding_step_ml", "flush_ml")
OPTIONAL_DECIMALS = (
    "per_kg_mg",
    "fixed_mg",
    "keep_below_mg_per_kg",
    "default_concentration_mg_ml",
    "use_by_h",
)
LATEST_S = 3600.0
"""By mouth a dye is first seen after about 25 minutes (Amador-Patarroyo): an hour bounds a slip of the
finger."""
Found = Iterator[tuple[str, str]]


def dye_faults(parts: DyeParts, demo: bool) -> Iterator[PackFault]:
    """Faults of `dyes.toml`, and files of the dye's hour that are missing beside it."""
    if parts.present and parts.present != {f"{name}.toml" for name in FILES}:
        for name in FILES:
            if f"{name}.toml" not in parts.present:
                there = ", ".join(sorted(parts.present))
                yield PackFault(
                    file=f"{name}.toml", key="", reason=f"is missing; a pack with {there} needs it"
                )
    if FILE not in parts.present:
        return
    if not parts.names("dyes"):
        yield PackFault(
            file=FILE, key="dyes", reason="is empty; leave the dye's files out where none is given"
        )
    if parts.dosing:
        for key, reason in _dosing_faults(parts.dosing):
            yield PackFault(file=FILE, key=f"dosing.{key}", reason=reason)
    for dye in parts.dyes:
        for key, reason in _dye_faults(dye, demo):
            yield PackFault(file=FILE, key=f"dyes[{dye.id}].{key}", reason=reason)
        if parts.dosing and not list(_number_faults(dye)) and not list(_bound_faults(parts.dosing)):
            for key, reason in _range_faults(dye, parts.dosing):
                yield PackFault(file=FILE, key=f"dyes[{dye.id}].{key}", reason=reason)


def _dosing_faults(dosing: Dosing) -> Found:
    yield from _bound_faults(dosing)
    if not dosing.caution.strip():
        yield "caution", "is empty; it is shown with every dose"
    if not any(role.strip() for role in dosing.checker_roles):
        yield "checker_roles", "is empty; a dose is checked by a second person"
    if not any(role.strip() for role in dosing.releaser_roles):
        yield "releaser_roles", "is empty; only a licensed person releases a stop"
    for key in ("checker_roles", "releaser_roles"):
        roles: list[str] = getattr(dosing, key)
        if any(roles) and not all(role.strip() for role in roles):
            yield key, "has an empty entry"
        if len(set(roles)) < len(roles):
            yield key, "names one role twice"
    names = [band.id for band in dosing.weights]
    for band in dosing.weights:
        if names.count(band.id) > 1:
            yield f"weights[{band.id}].id", "is used twice; an id must be unique"
        if not band.name.strip():
            yield f"weights[{band.id}].name", "is empty"


def _bound_faults(dosing: Dosing) -> Found:
    bounds: list[tuple[str, Dosing | WeightBand]] = [("", dosing)]
    bounds += [(f"weights[{band.id}].", band) for band in dosing.weights]
    for where, one in bounds:
        reasons = [(key, reason_against(getattr(one, key))) for key in ("ask_below_kg", "ask_above_kg")]
        yield from ((where + key, reason) for key, reason in reasons if reason)
        if not any(reason for _, reason in reasons) and Decimal(one.ask_below_kg) >= Decimal(
            one.ask_above_kg
        ):
            yield where + "ask_below_kg", f"is {one.ask_below_kg}; must be below {one.ask_above_kg}"
    total = dosing.keep_total_below_mg_per_kg
    reason = reason_against(total) if total else None
    if reason:
        yield "keep_total_below_mg_per_kg", reason


def _dye_faults(dye: Dye, demo: bool) -> Found:
    yield from _number_faults(dye)
    given, other = ("per_kg_mg", "fixed_mg") if dye.rule == "per_kg" else ("fixed_mg", "per_kg_mg")
    if not getattr(dye, given):
        yield given, f"is missing; the rule is {dye.rule}"
    if getattr(dye, other):
        yield other, f"stands beside the rule {dye.rule}; a dye has one rule"
    if not dye.name.strip():
        yield "name", "is empty"
    for key in ("routes", "cautions", "source"):
        lines: list[str] = getattr(dye, key)
        if not lines or not all(line.strip() for line in lines):
            yield key, "is empty, or has an empty line"
    start, end = dye.arm_to_eye_s
    if not 0.0 <= start <= end <= LATEST_S:
        yield "arm_to_eye_s", f"is {start:g} to {end:g} s; must rise, within 0 to {LATEST_S:g}"
    yield from _approval_faults(dye, demo)


def _number_faults(dye: Dye) -> Found:
    for key in DECIMALS:
        reason = reason_against(getattr(dye, key))
        if reason:
            yield key, reason
    for key in OPTIONAL_DECIMALS:
        reason = reason_against(getattr(dye, key)) if getattr(dye, key) else None
        if reason:
            yield key, reason
    reasons = [reason_against(text) for text in dye.concentrations_mg_ml]
    for text, reason in zip(dye.concentrations_mg_ml, reasons, strict=True):
        if reason:
            yield f"concentrations_mg_ml[{text}]", reason
    if not dye.concentrations_mg_ml:
        yield "concentrations_mg_ml", "is empty; without one no volume can be worked out"
    elif not any(reasons):
        values = [Decimal(text) for text in dye.concentrations_mg_ml]
        if len(set(values)) < len(values):
            yield "concentrations_mg_ml", "names one strength twice"
        text = dye.default_concentration_mg_ml
        if text and not reason_against(text) and Decimal(text) not in values:
            yield "default_concentration_mg_ml", f"is {text}, which is none of concentrations_mg_ml"


def _approval_faults(dye: Dye, demo: bool) -> Found:
    """An empty approval is no fault of the source: the phone then shows nothing and says why."""
    sound = True
    for key in ("approved_on", "valid_until"):
        text: str = getattr(dye, key)
        if text and not _is_date(text):
            sound = False
            yield key, f"is {text!r}; must be a date as YYYY-MM-DD"
        if not text and dye.approved_by.strip():
            sound = False
            yield key, "is missing; an approval has its dates"
    if sound and dye.approved_on and dye.valid_until and dye.valid_until < dye.approved_on:
        yield "valid_until", f"is {dye.valid_until}, before approved_on, {dye.approved_on}"
    if not demo and "demo" in dye.approved_by.lower():
        yield "approved_by", f"is {dye.approved_by!r}: a demo's invented approval"


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _range_faults(dye: Dye, dosing: Dosing) -> Found:
    """What would cap, stop or lose every dose."""
    lightest, heaviest = Decimal(dosing.ask_below_kg), Decimal(dosing.ask_above_kg)
    each = dye.per_kg_mg if dye.rule == "per_kg" else dye.fixed_mg
    if not each:
        return
    least = Decimal(each) * lightest if dye.rule == "per_kg" else Decimal(each)
    if Decimal(dye.cap_mg) < least:
        yield "cap_mg", f"is {dye.cap_mg}, below every dose: the least is {least:f} mg"
    ceilings = {"keep_below_mg_per_kg": dye.keep_below_mg_per_kg}
    ceilings["the dosing's keep_total_below_mg_per_kg"] = dosing.keep_total_below_mg_per_kg
    for key, ceiling in ceilings.items():
        if not ceiling:
            continue
        per_kg = Decimal(each) if dye.rule == "per_kg" else Decimal(each) / heaviest
        cap_reached = Decimal(dye.cap_mg) / heaviest
        if min(per_kg, cap_reached) >= Decimal(ceiling):
            at = key if key == "keep_below_mg_per_kg" else f"{dye.rule}_mg"
            yield at, f"every dose is stopped: none is below {ceiling} mg/kg ({key})"
    for text in dye.concentrations_mg_ml:
        step = Decimal(dye.rounding_step_ml) * Decimal(text)
        if step > 2 * least:
            yield (
                "rounding_step_ml",
                f"is {dye.rounding_step_ml}; of {text} mg/mL that is {step:f} mg, more than a dose",
            )
