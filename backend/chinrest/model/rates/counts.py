"""What a count, a rate and a series must be before anything is computed from it."""

import re
from collections.abc import Sequence
from math import isfinite
from operator import index

from ..errors import InputError

# Above this, double precision no longer holds every published digit of the exact limits.
MOST = 10**9

FEW_EVENTS = 10
UNSTABLE_EVENTS = 20
FEW_PROCEDURES = 30
FEW_POINTS = 20


def whole(field: str, value: object, least: int = 0) -> int:
    """`value` as an int from `least` to MOST. Raises InputError naming `field`."""
    try:
        number = index(value)  # type: ignore[arg-type]  # what has no index is the very thing refused here
    except TypeError:
        raise InputError(field, f"is {value!r}; must be a whole number") from None
    if isinstance(value, bool):
        raise InputError(field, f"is {value!r}; must be a whole number")
    if not least <= number <= MOST:
        raise InputError(field, f"is {number}; must lie from {least} to {MOST}")
    return number


def whole_text(field: str, text: str, least: int = 0) -> int:
    """What a person typed as a whole number, in plain digits. Raises InputError naming `field`."""
    if not text.strip():
        raise InputError(field, "is empty")
    if not re.fullmatch(r"[+-]?\d{1,18}", text.strip(), re.ASCII):
        raise InputError(field, f"is {text!r}; must be a whole number")
    return whole(field, int(text), least)


def events_among(events: object, procedures: object, prefix: str = "") -> tuple[int, int]:
    """(events, procedures) as ints, 0 <= events <= procedures, procedures > 0. Raises InputError."""
    n = whole(f"{prefix}procedures", procedures)
    if n == 0:
        raise InputError(f"{prefix}procedures", "is 0; a rate needs at least one procedure")
    x = whole(f"{prefix}events", events)
    if x > n:
        raise InputError(f"{prefix}events", f"is {x}, more than the {n} procedures that it is counted among")
    return x, n


def chance(field: str, value: float) -> float:
    """`value` where it lies strictly between 0 and 1. Raises InputError naming `field`."""
    if not 0.0 < value < 1.0:
        raise InputError(field, f"is {value}; must lie between 0 and 1, and be neither")
    return float(value)


def measures(field: str, values: Sequence[float], least: float = 0.0) -> list[float]:
    """At least two finite numbers, none below `least`. Raises InputError naming `field` and the place."""
    if len(values) < 2:
        raise InputError(field, f"has {len(values)} values; a chart needs at least 2")
    for place, value in enumerate(values):
        if not isfinite(value) or value < least:
            raise InputError(f"{field}[{place}]", f"is {value}; must be a number of at least {least:g}")
    return [float(value) for value in values]


def small_number(events: int, procedures: int) -> tuple[str, ...]:
    """Sentences to show beside a rate that is too small to be read as a rate; none where it is not.

    Fewer than 10 events: not reliable by the data presentation standards for rates of the US National Center
    for Health Statistics (2023, stacks.cdc.gov/view/cdc/123462). Up to 20: unstable by the US Centers for
    Disease Control and Prevention (cdc.gov/injury/wisqars/mapping_help/unstable_rates.html). Fewer than 30
    procedures: not shown as a figure in that centre's survey reports (cdc.gov/nchs/nhhcs).
    """
    said = []
    if events == 0:
        said.append("No event was seen. That is an upper limit, not a rate of none.")
    elif events < FEW_EVENTS:
        said.append(f"Fewer than {FEW_EVENTS} events: not reliable as a rate. Read the interval.")
    elif events <= UNSTABLE_EVENTS:
        said.append(f"At most {UNSTABLE_EVENTS} events: an unstable rate, much moved by one event more.")
    if procedures < FEW_PROCEDURES:
        said.append(f"Fewer than {FEW_PROCEDURES} procedures: too few for a rate.")
    return tuple(said)


def few_points(points: int) -> tuple[str, ...]:
    """What to show beside limits from too few points. The number 20 is common practice, no source."""
    if points >= FEW_POINTS:
        return ()
    return (f"Limits from {points} points; below {FEW_POINTS} they move with each new one.",)
