"""What officers and leads decide about an incident: lines of the server's own chain, never an edit.

`incident` is the id of the line that made the incident (a safety event, a found pose that touched, a
reaction). Dates are ISO 8601 days.
"""

from typing import Literal

from msgspec import Struct

from chinrest.log.case_events import Body, Harm

Preventable = Literal["yes", "no", "unclear"]


class ReactionClass(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A class on a named scale of the pack, with the version of its table."""

    scale: str
    version: str
    grade: str


class IncidentClassified(Body, frozen=True, tag="incident.classified"):
    """The officer's own judgement; the reporter's words stay beside it. `factors`: what contributed."""

    incident: str
    by: str
    harm: Harm | None
    preventable: Preventable | None
    factors: list[str]
    reaction: ReactionClass | None = None
    note: str = ""


class IncidentCommented(Body, frozen=True, tag="incident.commented"):
    incident: str
    by: str
    text: str


class IncidentLinked(Body, frozen=True, tag="incident.linked"):
    """`other` is like this one; `why` says how. `linked` false takes it back."""

    incident: str
    by: str
    other: str
    why: str
    linked: bool = True


class ReactionParted(Body, frozen=True, tag="incident.parted"):
    """The emergency that the line `reaction` opened is another incident than this one, whatever the rule or
    the phone said; `parted` false takes that back."""

    incident: str
    by: str
    reaction: str
    why: str
    parted: bool = True


class ActionAdded(Body, frozen=True, tag="action.added"):
    incident: str
    by: str
    action: str
    text: str
    owner: str
    due: str


class ActionChanged(Body, frozen=True, tag="action.changed"):
    incident: str
    by: str
    action: str
    owner: str
    due: str
    why: str


class ActionFinished(Body, frozen=True, tag="action.finished"):
    """`done` false: it was dropped, for the reason that `note` gives."""

    incident: str
    by: str
    action: str
    done: bool
    note: str


class ClosingAsked(Body, frozen=True, tag="incident.closing_asked"):
    """One person thinks that it can be closed; another takes the second look."""

    incident: str
    by: str
    note: str


class IncidentClosed(Body, frozen=True, tag="incident.closed"):
    """By another person than asked for it."""

    incident: str
    by: str
    note: str


class IncidentReopened(Body, frozen=True, tag="incident.reopened"):
    """Also takes back the asking for a second look."""

    incident: str
    by: str
    why: str


ReviewBody = (
    IncidentClassified
    | IncidentCommented
    | IncidentLinked
    | ReactionParted
    | ActionAdded
    | ActionChanged
    | ActionFinished
    | ClosingAsked
    | IncidentClosed
    | IncidentReopened
)
"""What only a server's own chain may say."""
