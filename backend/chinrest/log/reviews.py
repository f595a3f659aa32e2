"""How the review of an incident stands: a fold over its review lines, in the order of the server's chain."""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from chinrest.log.review_events import (
    ActionAdded,
    ActionChanged,
    ActionFinished,
    ClosingAsked,
    IncidentClassified,
    IncidentClosed,
    IncidentCommented,
    IncidentLinked,
    IncidentReopened,
    ReactionParted,
    ReviewBody,
)

ReviewState = Literal["new", "in_review", "actions_open", "closed"]


class ReviewLine(Struct, frozen=True, kw_only=True):
    """A review line as the log has it: `at` by the server's clock, `position` in its log."""

    line: str
    at: int
    position: int
    body: ReviewBody


class Action(Struct, frozen=True, kw_only=True):
    """`state`: open, done, or dropped. `ended_at`, `ended_by` and `note` once it is no longer open;
    `changed_by`: who gave it another owner or day last."""

    action: str
    text: str
    owner: str
    due: str
    added_by: str
    added_at: int
    state: Literal["open", "done", "dropped"] = "open"
    ended_by: str | None = None
    ended_at: int | None = None
    note: str = ""
    changed_by: str | None = None


class Judged(Struct, frozen=True, kw_only=True):
    at: int
    classified: IncidentClassified


class Comment(Struct, frozen=True, kw_only=True):
    line: str
    by: str
    at: int
    text: str


class Link(Struct, frozen=True, kw_only=True):
    other: str
    by: str
    at: int
    why: str


class Closing(Struct, frozen=True, kw_only=True):
    """Who asked for the second look, and who took it (null while nobody has)."""

    asked_by: str
    asked_at: int
    asked_note: str
    closed_by: str | None = None
    closed_at: int | None = None
    closed_note: str = ""


class Review(Struct, frozen=True, kw_only=True):
    """`count` is how many review lines there are: who changes something names it, so that nobody decides on
    what another has changed meanwhile. `late`: lines of the case came after it was closed, so that the
    question is open again. `reopened_why`: the latest reason for opening it again, while that stands, and
    `reopened_by`."""

    incident: str
    state: ReviewState = "new"
    count: int = 0
    judged: Judged | None = None
    earlier: list[Judged] = []
    comments: list[Comment] = []
    actions: list[Action] = []
    links: list[Link] = []
    closing: Closing | None = None
    late: bool = False
    reopened_why: str | None = None
    reopened_by: str | None = None


def fold_review(incident: str, lines: Sequence[ReviewLine], last_case_position: int | None = None) -> Review:
    """`lines` of this incident, by position. `last_case_position`: where the latest line of the incident's
    case stands that a phone wrote; after the closing it is late."""
    review = Review(incident=incident)
    closed_position: int | None = None
    for line in lines:
        review, closed_position = _step(review, line, closed_position)
    late = (
        closed_position is not None
        and last_case_position is not None
        and last_case_position > closed_position
    )
    return replace(review, count=len(lines), late=late, state=_state(review, len(lines), late))


def _state(review: Review, count: int, late: bool) -> ReviewState:
    if count == 0:
        return "new"
    if review.closing is not None and review.closing.closed_at is not None and not late:
        return "closed"
    return "actions_open" if any(action.state == "open" for action in review.actions) else "in_review"


def _step(review: Review, line: ReviewLine, closed_position: int | None) -> tuple[Review, int | None]:
    body = line.body
    match body:
        case IncidentClassified():
            earlier = [*review.earlier, *([review.judged] if review.judged else [])]
            return replace(
                review, judged=Judged(at=line.at, classified=body), earlier=earlier
            ), closed_position
        case IncidentCommented():
            said = Comment(line=line.line, by=body.by, at=line.at, text=body.text)
            return replace(review, comments=[*review.comments, said]), closed_position
        case IncidentLinked():
            links = [link for link in review.links if link.other != body.other]
            if body.linked:
                links.append(Link(other=body.other, by=body.by, at=line.at, why=body.why))
            return replace(review, links=links), closed_position
        case ReactionParted():
            return review, closed_position  # it changes what counts as one incident: see `log.joining`
        case ActionAdded() | ActionChanged() | ActionFinished():
            return replace(review, actions=_actions(review.actions, body, line.at)), closed_position
        case ClosingAsked():
            asked = Closing(asked_by=body.by, asked_at=line.at, asked_note=body.note)
            return replace(review, closing=asked), closed_position
        case IncidentClosed():
            asked = review.closing or Closing(asked_by=body.by, asked_at=line.at, asked_note="")
            done = replace(asked, closed_by=body.by, closed_at=line.at, closed_note=body.note)
            return replace(review, closing=done, reopened_why=None, reopened_by=None), line.position
        case IncidentReopened():
            return replace(review, closing=None, reopened_why=body.why, reopened_by=body.by), None


def _actions(
    actions: list[Action], body: ActionAdded | ActionChanged | ActionFinished, at: int
) -> list[Action]:
    if isinstance(body, ActionAdded):
        added = Action(
            action=body.action, text=body.text, owner=body.owner, due=body.due, added_by=body.by, added_at=at
        )
        return [*actions, added]
    return [_changed(action, body, at) if action.action == body.action else action for action in actions]


def _changed(action: Action, body: ActionChanged | ActionFinished, at: int) -> Action:
    if isinstance(body, ActionChanged):
        return replace(action, owner=body.owner, due=body.due, changed_by=body.by)
    state: Literal["done", "dropped"] = "done" if body.done else "dropped"
    return replace(action, state=state, ended_by=body.by, ended_at=at, note=body.note)
