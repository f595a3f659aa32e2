"""What is asked before an injection, and what each answer leads to."""

from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

Consequence = Literal["go", "note", "ask", "stop"]
NEEDLE_ARM = "arm"
"""The question that says which arm the needle is in, by its answers `right` and `left`. The phone compares it
with every `spare_arm`."""
ORDER: tuple[Consequence, ...] = ("go", "note", "ask", "stop")
"""From the lightest: go on; written down; the physician is asked; passed only by a licensed person's
release."""


class ScreeningAnswer(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """`do`: what the photographer does now. `spare_arm`: an arm that the answer rules out.

    `dose_not_computed`: the clinic's dose rules are not for this patient. No dose of the dyes that the
    question is about is worked; the physician's own order stands, and a second person checks that.
    `steady_light`: flashing light may harm, so that the outside light does not blink.
    """

    id: str
    text: str
    consequence: Consequence
    do: str = ""
    spare_arm: Literal["", "right", "left", "both"] = ""
    dose_not_computed: bool = False
    steady_light: bool = False


class ScreeningQuestion(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One question. `dyes`: asked where any of these is to be given; empty: always.

    `part`: what is asked of the patient, or made sure of in the room just before (`ready`).
    Where more than one answer holds, the one of the heaviest consequence is given.
    """

    id: str
    part: Literal["patient", "ready"]
    text: str
    why: str = ""
    dyes: list[str] = []
    answers: list[ScreeningAnswer]
    source: str


def asked(questions: Iterable[ScreeningQuestion], dyes: Iterable[str]) -> list[ScreeningQuestion]:
    """The questions that these dyes need, in the pack's order."""
    given = set(dyes)
    return [question for question in questions if not question.dyes or given & set(question.dyes)]


def heaviest(consequences: Iterable[Consequence]) -> Consequence:
    """The weightiest of several; `go` of none."""
    return max(consequences, key=ORDER.index, default="go")
