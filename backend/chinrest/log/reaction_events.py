"""What is written while the way out is open, one tap a line, and about practice.

Signs are kept as seen; no class stands in any line. What a sign or a reading calls for is the clinic's page
and licensed staff's to say. Fields are only ever added, with a default.
"""

from typing import Literal

from chinrest.log.case_events import Body


class ReactionStarted(Body, frozen=True, tag="reaction.started"):
    """The way out was opened: the zero of the reaction's own clock. `screen` is where the phone was.

    Where no case was open, `case` of the envelope is a fresh id that nothing else was written under; it is
    attached to the patient's case later.
    """

    screen: str = ""


class ReactionSign(Body, frozen=True, tag="reaction.sign"):
    """A sign (an id of the pack) seen now, or no longer: the change, not the whole list."""

    sign: str
    seen: bool


class ReactionAction(Body, frozen=True, tag="reaction.action"):
    """Something was done, at this line's time. `by`: who did it, as said aloud: a role or initials.

    `drug` and `dose` are as said aloud by whoever gave it; the phone neither suggests nor checks them.
    """

    action: str
    detail: str = ""
    by: str = ""
    drug: str = ""
    dose: str = ""


class ReactionObserved(Body, frozen=True, tag="reaction.observed"):
    """Readings as taken; null where it was not taken. Pulse and breathing a minute, pressures in mmHg,
    saturation in percent.

    `green_dye_s`: seconds since the green dye, by which an oximeter reads low for minutes; null: none given.
    """

    pulse: int | None = None
    systolic: int | None = None
    diastolic: int | None = None
    saturation: int | None = None
    breathing: int | None = None
    note: str = ""
    green_dye_s: float | None = None


class ReactionHandedOver(Body, frozen=True, tag="reaction.handed_over"):
    """Somebody else leads from here: a role or initials, never a full name."""

    to: str


class ReactionEnded(Body, frozen=True, tag="reaction.ended"):
    """The record of the reaction ends; only from here on may a class be derived from it.

    `case_stopped`: no more is imaged. The closing of the case is a line of its own. `late`: nobody ended it
    then, and this tells of it afterwards; `after_min`: minutes from its opening to its end, as told, null
    where nobody knows.
    """

    outcome: Literal["case_goes_on", "case_stopped"]
    note: str = ""
    late: bool = False
    after_min: float | None = None


class ReactionAttached(Body, frozen=True, tag="reaction.attached"):
    """A reaction that was opened with no case belongs to the case `to` (its code beside it), or to none.

    `reaction` is the id that its lines stand under. Written under that id, and again under `to`, so that
    whoever reads either finds the other.
    """

    reaction: str
    to: str | None
    code: str = ""
    note: str = ""


class PracticeEnded(Body, frozen=True, tag="practice.ended"):
    """This is real. The whole case counts from here on, what stands before this line too: what was only
    played can be amended, what was real can't be uncounted. Its own envelope already says practice false.
    """


ReactionBody = (
    ReactionStarted
    | ReactionSign
    | ReactionAction
    | ReactionObserved
    | ReactionHandedOver
    | ReactionEnded
    | ReactionAttached
    | PracticeEnded
)
