"""Ids that the model, the log or the phone fixes already: the pack gives them words, and must give all."""

from collections.abc import Iterator
from typing import get_args

from chinrest.model.face import Landmark
from chinrest.model.fit import AgeBand

from .faults import PackFault
from .parts import CHOICE_LISTS, Parts

FILE = "choices.toml"
HARM = ("none", "mild", "moderate", "severe", "death")
TOUCHED = "touched_by_optic"
ACTED_ON = ("child", "nystagmus", "photosensitive", "squint")
"""Flags by which the phone does something: no turn for a child; squint and drift begin with a yes; an outside
light that does not blink for whom flashing light can harm."""
NEEDS_NOTE = "other"
"""The reason for a step not done that is nothing without its note."""
WITH_DYE = {
    "safety_what": ("dye_reaction", "leak_at_needle", "faint"),
    "signs": ("none_seen", "nausea", "vomiting"),
    "bothers": ("nausea",),
}
"""By which the phone lengthens the watch after a dye, tells a leak as an event and counts reactions."""


def vocabulary_faults(parts: Parts) -> Iterator[PackFault]:
    if FILE not in parts.present:
        return
    for name in CHOICE_LISTS:
        if not parts.named(name):
            yield PackFault(file=FILE, key=name, reason="is empty")
    yield from _exactly(parts, "age_bands", get_args(AgeBand), "the bands of the limits")
    yield from _exactly(parts, "harm", HARM, "the WHO degrees")
    yield from _at_least(parts, "nearest", get_args(Landmark), "the landmarks of the face")
    yield from _at_least(parts, "safety_what", (TOUCHED,), "the events that a found pose can make")
    yield from _at_least(parts, "flags", ACTED_ON, "the flags that the phone acts on")
    yield from _at_least(parts, "skip_reasons", (NEEDS_NOTE,), "the reasons that the phone acts on")
    if parts.dye.present:
        for name, wanted in WITH_DYE.items():
            yield from _at_least(parts, name, wanted, "what the phone acts on once a dye is given")
    unusual = tuple(name for name, _ in parts.named("unusual"))
    yield from _at_least(parts, "flags", unusual, "the reasons in 'unusual', which a case keeps as flags")


def _exactly(parts: Parts, name: str, wanted: tuple[str, ...], what: str) -> Iterator[PackFault]:
    yield from _at_least(parts, name, wanted, what)
    for given, _ in parts.named(name):
        if given not in wanted:
            yield PackFault(
                file=FILE, key=f"{name}[{given}].id", reason=f"is none of {what}: {', '.join(wanted)}"
            )


def _at_least(parts: Parts, name: str, wanted: tuple[str, ...], what: str) -> Iterator[PackFault]:
    given = {choice for choice, _ in parts.named(name)}
    if not given:
        return  # said already: the list is empty
    for choice in wanted:
        if choice not in given:
            yield PackFault(file=FILE, key=name, reason=f"has no {choice!r}, one of {what}")
