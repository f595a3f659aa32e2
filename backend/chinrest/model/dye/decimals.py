"""Decimals as people write them, exactly: no binary fraction anywhere, and nothing corrected in silence."""

import re
from decimal import Context, Decimal, Inexact, Overflow

from chinrest.model.errors import InputError

PLAIN = re.compile(r"[0-9]{1,6}(\.[0-9]{1,6})?")
EXACT = Context(prec=80, traps=[Inexact, Overflow])
"""Sums and products of what `PLAIN` lets through fit in it; a digit lost would raise."""


def reason_against(text: str) -> str | None:
    """Why a text is no decimal above 0 with at most six digits on either side; None where it is one."""
    if not text.strip(" "):
        return "is missing"
    said = f'is "{text}"'
    if "," in text:
        return f"{said}; write the decimal with a point, as 18.5, and no comma"
    if text.startswith("-"):
        return f"{said}; must be more than 0"
    if not PLAIN.fullmatch(text):
        return f"{said}; must be plain digits in the unit asked for, at most six on either side of the point"
    if not text.strip("0."):
        return f"{said}; must be more than 0"
    return None


def decimal_of(field: str, text: str) -> Decimal:
    """The decimal. Raises InputError naming `field` and why."""
    reason = reason_against(text)
    if reason:
        raise InputError(field, reason)
    return Decimal(text)


def written(value: Decimal) -> str:
    """Plain digits: no trailing zeros (5.0 is misread as 50), and a leading one (.5 is misread as 5)."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def times(one: Decimal, other: Decimal) -> Decimal:
    return EXACT.multiply(one, other)


def plus(one: Decimal, other: Decimal) -> Decimal:
    return EXACT.add(one, other)


def minus(one: Decimal, other: Decimal) -> Decimal:
    return EXACT.subtract(one, other)


def whole_steps(amount: Decimal, step: Decimal) -> tuple[Decimal, bool]:
    """How many whole steps go into an amount, and whether half a step or more is left over."""
    steps = EXACT.divide_int(amount, step)
    left = minus(amount, times(steps, step))
    return steps, times(left, Decimal(2)) >= step


def shown_ratio(amount: Decimal, by: Decimal, places: int = 3) -> Decimal:
    """A ratio for the eye, halves up. Nothing is decided by it: comparisons multiply instead."""
    unit = Decimal(1).scaleb(-places)
    steps, more = whole_steps(amount, times(by, unit))
    return times(plus(steps, Decimal(1)) if more else steps, unit)
