"""What travels when an incident is reviewed. `seen` is the review's `count` that the writer had before
them."""

from msgspec import Struct

from chinrest.log.case_events import Harm
from chinrest.log.incidents import IncidentRow
from chinrest.log.review_events import Preventable, ReactionClass
from chinrest.log.reviews import Review


class PersonName(Struct, frozen=True, kw_only=True):
    id: str
    name: str


class IncidentPage(Struct, frozen=True, kw_only=True):
    """`like`: others of the same kind. `linked`: those that the review links.
    `people`: the names of those whose ids stand in the review. `position`: of the log, when it was read."""

    row: IncidentRow
    review: Review
    like: list[IncidentRow]
    linked: list[IncidentRow]
    people: list[PersonName]
    position: int


class IncidentCounts(Struct, frozen=True, kw_only=True):
    """How many incidents are in each state of review. `overdue`: with an open action past its day (UTC).
    `unread_cases`: whose lines stand here but could not be made into a case, whatever the filter says;
    `unread_devices`: of which that holds for what they noted outside any case."""

    new: int
    in_review: int
    actions_open: int
    closed: int
    overdue: int
    unread_cases: int
    unread_devices: int


class ReportedIncident(Struct, frozen=True, kw_only=True):
    row: IncidentRow
    review: Review


class PeriodReport(Struct, frozen=True, kw_only=True):
    """The incidents of a period, each with its review, in the order of time. `total` is more than there are
    rows where it was too many for one report. `position`: of the log, at which it was read."""

    rows: list[ReportedIncident]
    total: int
    position: int
    people: list[PersonName]


class Classify(Struct, frozen=True, kw_only=True):
    seen: int
    harm: Harm | None
    preventable: Preventable | None
    factors: list[str]
    reaction: ReactionClass | None = None
    note: str = ""


class CommentOn(Struct, frozen=True, kw_only=True):
    text: str


class LinkIncident(Struct, frozen=True, kw_only=True):
    seen: int
    other: str
    why: str
    linked: bool = True


class PartReaction(Struct, frozen=True, kw_only=True):
    """`reaction`: the line that opened the emergency."""

    seen: int
    reaction: str
    why: str
    parted: bool = True


class AddAction(Struct, frozen=True, kw_only=True):
    """`owner` is whoever sees to it, in words; `due` an ISO day."""

    seen: int
    text: str
    owner: str
    due: str


class ChangeAction(Struct, frozen=True, kw_only=True):
    seen: int
    owner: str
    due: str
    why: str


class FinishAction(Struct, frozen=True, kw_only=True):
    seen: int
    done: bool
    note: str = ""


class AskClosing(Struct, frozen=True, kw_only=True):
    seen: int
    note: str


class CloseIncident(Struct, frozen=True, kw_only=True):
    seen: int
    note: str = ""


class ReopenIncident(Struct, frozen=True, kw_only=True):
    seen: int
    why: str
