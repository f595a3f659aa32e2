"""Reviews of incidents, folded from the server's own lines into rows for the queue."""

from collections.abc import Sequence

from sqlalchemy import ColumnElement, bindparam, delete, func, insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.case_events import LineAmended
from chinrest.log.envelope import Envelope
from chinrest.log.kept import SERVER_SITE
from chinrest.log.line import decode_envelope
from chinrest.log.registry import REVIEW_TYPES, decode_body, type_of
from chinrest.log.review_events import ReviewBody
from chinrest.log.reviews import Review, ReviewLine, fold_review
from chinrest.store import stones
from chinrest.store.tables import incidents, lines, review_lines, reviews

_AMONG = reviews.c.case_id.in_(bindparam("cases", expanding=True))
_CLOSED, _CLOSED_LOOSE = (
    select(reviews.c.incident).where(reviews.c.state == "closed").where(among)
    for among in (_AMONG, _AMONG | reviews.c.case_id.is_(None))
)
"""Each batch asks it: made once (see devices.py)."""


async def review_of(connection: AsyncConnection, incident: str) -> Review:
    """How the incident's review stands; `new` where nobody has touched it."""
    found = await connection.execute(
        select(lines.c.id, lines.c.envelope, lines.c.body, lines.c.position)
        .join(review_lines, review_lines.c.line == lines.c.id)
        .where(review_lines.c.incident == incident)
        .order_by(lines.c.position)
    )
    kept = []
    erased: dict[str, ReviewBody] | None = None
    for row in found:
        envelope = decode_envelope(row.envelope)
        if row.body is not None:
            body = decode_body(envelope, row.body)
        else:
            erased = await stones.decisions(connection, envelope.case) if erased is None else erased
            body = erased.get(row.id)
        if isinstance(body, ReviewBody):
            kept.append(ReviewLine(line=row.id, at=envelope.at, position=row.position, body=body))
    return fold_review(incident, kept, await _last_position(connection, incident))


async def _last_position(connection: AsyncConnection, incident: str) -> int | None:
    """Where the latest line stands that a phone wrote of the incident's case; of an incident without a
    case, the latest amendment by its own device that belongs to none."""
    row = (
        await connection.execute(
            select(incidents.c.case_id, incidents.c.device).where(incidents.c.line == incident)
        )
    ).first()
    if row is None:
        return None
    of_case: ColumnElement[bool] = lines.c.case_id == row.case_id
    if row.case_id is None:
        of_case = (
            (lines.c.device == row.device)
            & lines.c.case_id.is_(None)
            & (lines.c.type == type_of(LineAmended))
        )
    last: int | None = (
        await connection.execute(
            select(func.max(lines.c.position)).where(of_case).where(lines.c.site != SERVER_SITE)
        )
    ).scalar_one()
    return last


async def refold_review(connection: AsyncConnection, incident: str) -> Review:
    """Make the row of one review anew."""
    review = await review_of(connection, incident)
    case = (
        await connection.execute(select(incidents.c.case_id).where(incidents.c.line == incident))
    ).scalar_one_or_none()
    open_actions = sorted((a for a in review.actions if a.state == "open"), key=lambda a: (a.due, a.action))
    first = open_actions[0] if open_actions else None
    judged = review.judged.classified if review.judged else None
    await connection.execute(delete(reviews).where(reviews.c.incident == incident))
    if review.count:
        await connection.execute(
            insert(reviews).values(
                incident=incident,
                case_id=case,
                state=review.state,
                late=review.late,
                harm=judged.harm if judged else None,
                preventable=judged.preventable if judged else None,
                owner=first.owner if first else None,
                due=first.due if first else None,
            )
        )
    return review


async def begun_of(connection: AsyncConnection, which: ColumnElement[bool]) -> list[str]:
    """Those of these incidents whose review somebody began."""
    begun = await connection.execute(
        select(review_lines.c.incident)
        .join(incidents, incidents.c.line == review_lines.c.incident)
        .where(which)
        .distinct()
    )
    return list(begun.scalars())


async def closed_of(connection: AsyncConnection, new: Sequence[Envelope]) -> list[str]:
    """Incidents with a closed review, of which these late lines of their case open the question again."""
    cases = {e.case for e in new if e.case is not None}
    loose = any(e.case is None and e.type == type_of(LineAmended) for e in new)
    if not cases and not loose:
        return []
    closed = await connection.execute(_CLOSED_LOOSE if loose else _CLOSED, {"cases": sorted(cases)})
    return list(closed.scalars())


async def begin_anew(connection: AsyncConnection) -> list[str]:
    """Forget every review, and say anew from the server's own lines alone of which incidents there is one."""
    await connection.execute(delete(review_lines))
    await connection.execute(delete(reviews))
    found = await connection.execute(
        select(lines.c.id, lines.c.envelope, lines.c.body)
        .where(lines.c.type.in_(sorted(REVIEW_TYPES)))
        .where(lines.c.site == SERVER_SITE)
    )
    rows = []
    erased = await stones.all_decisions(connection)
    for row in found:
        body = (
            erased.get(row.id) if row.body is None else decode_body(decode_envelope(row.envelope), row.body)
        )
        if isinstance(body, ReviewBody):
            rows.append({"line": row.id, "incident": body.incident})
    if rows:
        await connection.execute(insert(review_lines), rows)
    return sorted({row["incident"] for row in rows})
