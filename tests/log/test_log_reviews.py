"""The review of an incident as a fold: what it says follows from its lines alone."""

from typing import Any

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
    ReviewBody,
)
from chinrest.log.reviews import ReviewLine, fold_review

ADDED: dict[str, Any] = {"action": "a1", "text": "Check the latch", "owner": "Workshop", "due": "2026-12-01"}
JUDGED: dict[str, Any] = {"harm": "mild", "preventable": "yes", "factors": ["latch"]}


def body(cls: type[ReviewBody], by: str = "olga", **fields: Any) -> ReviewBody:
    return cls(salt="s", incident="i1", by=by, **fields)


def folded(*bodies: ReviewBody, last: int | None = None) -> Any:
    lines = [
        ReviewLine(line=f"l{place}", at=1000 + place, position=10 * place, body=made)
        for place, made in enumerate(bodies, start=1)
    ]
    return fold_review("i1", lines, last)


def test_nobody_has_looked_yet() -> None:
    review = folded(last=99)
    assert (review.state, review.count, review.late) == ("new", 0, False)


def test_a_judgement_is_kept_when_another_follows() -> None:
    first, second = body(IncidentClassified, **JUDGED), body(IncidentClassified, **{**JUDGED, "harm": "none"})
    review = folded(first, second)
    assert review.state == "in_review"
    assert review.judged.classified.harm == "none"
    assert [judged.classified.harm for judged in review.earlier] == ["mild"]


def test_actions_hold_it_open() -> None:
    added = body(ActionAdded, **ADDED)
    changed = body(ActionChanged, action="a1", owner="Lead", due="2027-01-15", why="parts are late")
    review = folded(added, changed)
    assert review.state == "actions_open"
    [action] = review.actions
    assert (action.owner, action.due, action.text) == ("Lead", "2027-01-15", "Check the latch")
    done = folded(added, changed, body(ActionFinished, by="lea", action="a1", done=True, note="new latch"))
    assert done.state == "in_review"
    assert (done.actions[0].state, done.actions[0].ended_by) == ("done", "lea")
    dropped = folded(added, body(ActionFinished, action="a1", done=False, note="optic retired"))
    assert dropped.actions[0].state == "dropped"


def closing(*more: ReviewBody, last: int | None = None) -> Any:
    return folded(
        body(IncidentClassified, **JUDGED),
        body(ClosingAsked, note="latch replaced"),
        body(IncidentClosed, by="lea", note="agreed"),
        *more,
        last=last,
    )


def test_two_people_close() -> None:
    review = closing()
    assert review.state == "closed"
    assert (review.closing.asked_by, review.closing.closed_by) == ("olga", "lea")


def test_a_line_that_comes_after_the_closing_opens_the_question_again() -> None:
    assert closing(last=30).state == "closed"  # the closing itself stands at 30
    late = closing(last=31)
    assert (late.state, late.late) == ("in_review", True)


def test_it_can_be_opened_again_and_closed_again() -> None:
    review = closing(body(IncidentReopened, why="it happened again"), last=35)
    assert (review.state, review.late, review.reopened_why) == ("in_review", False, "it happened again")
    again = closing(
        body(IncidentReopened, why="it happened again"),
        body(ClosingAsked, by="lea", note="now truly"),
        body(IncidentClosed, note=""),
        last=35,
    )
    assert (again.state, again.closing.closed_by, again.reopened_why) == ("closed", "olga", None)


def test_comments_and_links_come_and_links_go() -> None:
    linked = body(IncidentLinked, other="i2", why="same optic")
    review = folded(body(IncidentCommented, text="called the site"), linked)
    assert [comment.text for comment in review.comments] == ["called the site"]
    assert [link.other for link in review.links] == ["i2"]
    assert folded(linked, body(IncidentLinked, other="i2", why="", linked=False)).links == []
