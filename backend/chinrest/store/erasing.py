"""Erasing what was written of a case: bodies go, envelopes and chains stay, a signed tombstone says so.

A case is as old as its last line that came from a phone. The words of its incidents' reviews go with it; what
the desk writes of it later is as old as it came. One with an incident whose review is not closed is never
erased; nor, at a hub, one of which the server beyond has not said that it holds every line. What belongs to
no case: `chinrest.store.loose`.
"""

import uuid
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import ColumnElement, Select, and_, func, or_, select
from sqlalchemy import case as when
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.cases import CaseFact
from chinrest.log.erasure_events import BodiesErased, ErasedCase, ErasedTally
from chinrest.log.erasures import in_parts, kept_of, short, signed
from chinrest.log.incidents import IncidentFact
from chinrest.log.kept import SERVER_SITE
from chinrest.log.tallies import CaseTallies
from chinrest.log.write import new_salt
from chinrest.store import beyond, house, incident_reviews, unfolded
from chinrest.store.engines import note_change
from chinrest.store.faults import StoreError
from chinrest.store.folds import fold_of, refold_cases
from chinrest.store.forgetting import Gone, forget_lines, forget_refused
from chinrest.store.lines import chunks
from chinrest.store.own import Clock, append_own
from chinrest.store.reach import WITH_THE_INCIDENT
from chinrest.store.tables import cases, incidents, lines, refused, relayed, reviews

IN_USE_MS = 7 * 86_400_000
"""An open case of which something came within this time is somebody's work, and not erased by request."""

Hold = Literal["open_review", "not_passed_on", "in_use", "not_folded"]


class Due(Struct, frozen=True, kw_only=True):
    """A case that a rule would erase: `lines` bodies that phones wrote, `words` of the desk's own, and
    `refused` that were kept aside. `last_at`: when its last line from a phone came (ms), or of one that is
    erased but for the desk's words, the last of these. `held`: why it stays all the same."""

    case: str
    site: str
    code: str | None
    lines: int
    words: int
    refused: int
    last_at: int
    held: Hold | None


class Order(Struct, frozen=True, kw_only=True):
    """Why and by whom something is erased; see `BodiesErased`."""

    by: str
    rule: Literal["age", "request"]
    years: int | None
    why: str


class Erased(Struct, frozen=True, kw_only=True):
    """How many bodies that phones wrote went, how many of the desk's own lines, and how many kept aside."""

    bodies: int = 0
    words: int = 0
    refused: int = 0


def years_before(now: int, years: int) -> int:
    """The same day so many years earlier (29 February: the day before), ms."""
    then = datetime.fromtimestamp(now / 1000, UTC)
    day = min(then.day, 28) if then.month == 2 else then.day
    return int(then.replace(year=max(then.year - years, 1), day=day).timestamp() * 1000)


WORDS = and_(lines.c.site == SERVER_SITE, lines.c.type.in_(sorted(WITH_THE_INCIDENT)))
"""What the desk wrote about incidents."""


def _last() -> ColumnElement[int]:
    """By when a case's age is counted."""
    of_phone = lines.c.site != SERVER_SITE
    bodies = func.sum(when((and_(of_phone, lines.c.body.is_not(None)), 1), else_=0))
    by_phone = func.max(when((of_phone, lines.c.received_at)))
    by_desk = func.max(when((and_(WORDS, lines.c.body.is_not(None)), lines.c.received_at)))
    return when((bodies > 0, by_phone), else_=by_desk)


def _standing() -> Select[str, int, int, int]:
    """Each case of which bodies stand here: its id, how many that phones wrote and how many the desk did, and
    its last."""
    stands = lines.c.body.is_not(None)
    return (
        select(
            lines.c.case_id,
            func.sum(when((and_(lines.c.site != SERVER_SITE, stands), 1), else_=0)),
            func.sum(when((and_(WORDS, stands), 1), else_=0)),
            _last(),
        )
        .where(lines.c.case_id.is_not(None))
        .where(or_(lines.c.site != SERVER_SITE, WORDS))
        .group_by(lines.c.case_id)
        .having(func.count(lines.c.body) > 0)
    )


async def due_before(connection: AsyncConnection, cutoff: int) -> list[Due]:
    """Cases whose last line from a phone came before `cutoff` (ms), oldest first."""
    rows = await connection.execute(_standing().having(_last() < cutoff).order_by(_last(), lines.c.case_id))
    return await _due(connection, [(row[0], row[1], row[2], row[3]) for row in rows], None)


async def due_case(connection: AsyncConnection, case: str, now: int | None) -> Due | None:
    """One case; null where no body of it stands here. `now` (ms), where one in use shall be held."""
    rows = await connection.execute(_standing().where(lines.c.case_id == case))
    found = await _due(connection, [(row[0], row[1], row[2], row[3]) for row in rows], now)
    return found[0] if found else None


async def _due(
    connection: AsyncConnection, found: Sequence[tuple[str, int, int, int]], now: int | None
) -> list[Due]:
    due: list[Due] = []
    hub = await beyond.pinned(connection) is not None
    for part in chunks(found):
        named = [each[0] for each in part]
        known = {
            row.case_id: row
            for row in await connection.execute(select(cases).where(cases.c.case_id.in_(named)))
        }
        aside = {
            row.case_id: row.n
            for row in await connection.execute(
                select(refused.c.case_id, func.count().label("n"))
                .where(refused.c.case_id.in_(named), refused.c.raw.is_not(None))
                .group_by(refused.c.case_id)
            )
        }
        review = await _under_review(connection, named)
        failed = {case for case, mark in (await unfolded.marks(connection, named)).items() if mark.failed}
        waiting = await _not_passed_on(connection, named) if hub else set()
        for case, bodies, words, last_at in part:
            row = known.get(case)
            in_use = now is not None and row is not None and row.state == "open" and now - last_at < IN_USE_MS
            held: Hold | None = (
                "open_review"
                if case in review
                else "not_passed_on"
                if case in waiting
                else "not_folded"
                if case in failed
                else "in_use"
                if in_use
                else None
            )
            due.append(
                Due(
                    case=case,
                    site=row.site if row is not None else "",
                    code=row.code if row is not None else None,
                    lines=bodies,
                    words=words,
                    refused=aside.get(case, 0),
                    last_at=last_at,
                    held=held,
                )
            )
    return due


async def _under_review(connection: AsyncConnection, named: Sequence[str]) -> set[str]:
    """Cases with an incident that nobody has reviewed to its end; practice is nobody's to review."""
    rows = await connection.execute(
        select(incidents.c.case_id)
        .join(reviews, reviews.c.incident == incidents.c.line, isouter=True)
        .where(incidents.c.case_id.in_(named), ~incidents.c.practice)
        .where(func.coalesce(reviews.c.state, "new") != "closed")
    )
    return set(rows.scalars())


async def _not_passed_on(connection: AsyncConnection, named: Sequence[str]) -> set[str]:
    unsaid: ColumnElement[bool] = or_(relayed.c.seq.is_(None), lines.c.seq > relayed.c.seq)
    rows = await connection.execute(
        select(lines.c.case_id)
        .join(relayed, relayed.c.device == lines.c.device, isouter=True)
        .where(lines.c.case_id.in_(named), lines.c.site != SERVER_SITE, unsaid)
    )
    return set(rows.scalars())


async def erase(connection: AsyncConnection, clock: Clock, due: Due, order: Order, now: int) -> Erased:
    """Erase the bodies of one case. It is looked at anew: what was found due may have got lines since.
    Faults: case_unknown, held, changed."""
    again = await due_case(connection, due.case, now if order.rule == "request" else None)
    if again is None:
        raise StoreError("case_unknown", "case", "no body of such a case stands here")
    if again.held is not None:
        raise StoreError("held", "case", f"it stays: {again.held}")
    if again.last_at != due.last_at:
        raise StoreError("changed", "case", "lines of it came meanwhile")
    fact, found, counted = await fold_of(connection, due.case)
    gone = await forget_lines(
        connection, lines.c.case_id == due.case, or_(lines.c.site != SERVER_SITE, WORDS)
    )
    aside = await forget_refused(connection, refused.c.case_id == due.case)
    stone = _of_case(tombstone(order, gone, aside), fact, found, counted)
    key = await house.own_key(connection)
    for part in in_parts(stone):
        await append_own(
            connection,
            clock,
            signed(due.case, part, key),
            actor=order.by,
            now=now,
            case=due.case,
            practice=fact.practice,
        )
    await refold_cases(connection, [due.case])
    for incident in gone.incidents:
        await incident_reviews.refold_review(connection, incident)
    note_change(connection, "lines", fact.site)
    return Erased(bodies=gone.bodies, words=len(gone.hashes) - gone.bodies, refused=aside)


def tombstone(order: Order, gone: Gone, aside: int) -> BodiesErased:
    """Says what went and by whose order; nothing yet of what it was, and not signed. `aside`: bodies that
    were kept aside as refused."""
    return BodiesErased(
        salt=new_salt(),
        by=order.by,
        rule=order.rule,
        years=order.years,
        why=order.why,
        erasure=str(uuid.uuid4()),
        bodies=gone.hashes,
        case=None,
        at=None,
        month=None,
        tallies=[],
        incidents=[],
        refused=aside,
        signature="",
        decisions=gone.decisions,
    )


def _of_case(
    stone: BodiesErased, fact: CaseFact, found: Sequence[IncidentFact], counted: CaseTallies | None
) -> BodiesErased:
    return replace(
        stone,
        case=ErasedCase(site=fact.site, opened=fact.opened, outcome=fact.outcome, practice=fact.practice),
        at=counted.at if counted is not None else None,
        month=counted.month if counted is not None else None,
        tallies=[
            ErasedTally(kind=each.kind, key=short(each.key), sub=short(each.sub), n=each.n)
            for each in (counted.tallies if counted is not None else [])
        ],
        incidents=[kept_of(incident) for incident in found],
    )
