"""What officers and leads decide about an incident: each decision is a line of the server's own chain."""

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.review_events import (
    ActionAdded,
    ActionChanged,
    ActionFinished,
    ClosingAsked,
    IncidentClosed,
    IncidentCommented,
    IncidentReopened,
    ReactionParted,
    ReviewBody,
)
from chinrest.log.reviews import Review
from chinrest.store.engines import note_change
from chinrest.store.faults import StoreError
from chinrest.store.incident_reviews import refold_review, review_of
from chinrest.store.own import Clock, append_own
from chinrest.store.review import timeline
from chinrest.store.scope import Scope, sees_incident
from chinrest.store.tables import cases, incidents, review_lines


async def decide(
    connection: AsyncConnection,
    clock: Clock,
    scope: Scope,
    body: ReviewBody,
    seen: int | None,
    now: int,
) -> Review:
    """Write a review line; how the review stands then. `seen`: how many review lines the writer knew of,
    null where it doesn't matter (a comment).

    Faults: incident_unknown, changed_meanwhile, not_allowed (with the rule), action_unknown.
    """
    row = (
        await connection.execute(
            select(incidents.c.case_id, incidents.c.practice, incidents.c.site, cases.c.site.label("home"))
            .join(cases, cases.c.case_id == incidents.c.case_id, isouter=True)
            .where(incidents.c.line == body.incident)
        )
    ).first()
    if row is None or not await sees_incident(connection, scope, body.incident):
        raise StoreError("incident_unknown", "incident", "no such incident is kept here")
    review = await review_of(connection, body.incident)
    if seen is not None and seen != review.count:
        why = "somebody has changed it since you looked; look again, then decide"
        raise StoreError("changed_meanwhile", "seen", why)
    _check(review, body)
    if isinstance(body, ReactionParted):
        await _check_joined(connection, body, row.case_id)
    line = await append_own(
        connection, clock, body, actor=body.by, now=now, case=row.case_id, practice=row.practice
    )
    await connection.execute(insert(review_lines).values(line=line, incident=body.incident))
    for site in {row.site, row.home}:
        note_change(connection, "reviews", site)
    return await refold_review(connection, body.incident)


async def _check_joined(connection: AsyncConnection, body: ReactionParted, case: str | None) -> None:
    story = None if case is None else await timeline(connection, case)
    found = [] if story is None else story.joins
    if not any((join.incident, join.reaction) == (body.incident, body.reaction) for join in found):
        raise StoreError("not_allowed", "reaction", "that emergency is no part of this incident")


def _check(review: Review, body: ReviewBody) -> None:
    """The rules of a review: what is closed is opened again first, and two people close."""
    closed = review.state == "closed"
    if closed and not isinstance(body, IncidentReopened | IncidentCommented):
        raise StoreError("not_allowed", "incident", "it is closed; open it again first")
    if isinstance(body, IncidentReopened) and review.closing is None:
        raise StoreError("not_allowed", "incident", "it is not closed, and nobody asked to close it")
    if isinstance(body, ClosingAsked | IncidentClosed):
        left = sum(action.state == "open" for action in review.actions)
        if left:
            raise StoreError("not_allowed", "actions", f"{left} of its actions are still open")
        if review.judged is None:
            raise StoreError("not_allowed", "incident", "it is not classified yet")
    if isinstance(body, IncidentClosed):
        asked = review.closing
        if asked is None or asked.closed_at is not None:
            raise StoreError("not_allowed", "incident", "nobody has asked for the second look")
        if asked.asked_by == body.by:
            raise StoreError("not_allowed", "by", "the second look is another person's")
    if isinstance(body, ActionAdded) and any(a.action == body.action for a in review.actions):
        raise StoreError("not_allowed", "action", "there is such an action already")
    if isinstance(body, ActionChanged | ActionFinished):
        action = next((a for a in review.actions if a.action == body.action), None)
        if action is None:
            raise StoreError("action_unknown", "action", "the incident has no such action")
        if action.state != "open":
            raise StoreError("not_allowed", "action", f"the action is {action.state} already")
