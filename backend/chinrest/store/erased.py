"""What was erased, as the tombstones in the server's own chain say."""

from typing import Literal

from msgspec import Struct
from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.erasure_events import BodiesErased, RetentionSet
from chinrest.log.kept import SERVER_SITE
from chinrest.log.line import decode_envelope
from chinrest.log.registry import decode_body, type_of
from chinrest.store.tables import lines

PARTS = 4
"""Tombstones read for each erasure that is wanted: most have one, a long case has a few."""


class Erasure(Struct, kw_only=True):
    """`by`: a staff id, or `command`. `bodies` that went, `words` of the desk's own lines among them.
    `tombstones`: ids of lines."""

    at: int
    by: str
    rule: Literal["age", "request"]
    years: int | None
    why: str
    case: str | None
    bodies: int
    words: int
    refused: int
    tombstones: list[str]


class InForce(Struct, frozen=True, kw_only=True):
    rule: RetentionSet
    since: int


async def rule_in_force(connection: AsyncConnection) -> InForce | None:
    row = (
        await connection.execute(
            select(lines.c.envelope, lines.c.body)
            .where(lines.c.type == type_of(RetentionSet), lines.c.site == SERVER_SITE)
            .order_by(lines.c.position.desc())
            .limit(1)
        )
    ).first()
    if row is None or row.body is None:
        return None
    envelope = decode_envelope(row.envelope)
    body = decode_body(envelope, row.body)
    return InForce(rule=body, since=envelope.at) if isinstance(body, RetentionSet) else None


async def erasures(connection: AsyncConnection, limit: int) -> tuple[list[Erasure], int]:
    """The latest, newest first; and how many tombstones there are in all."""
    stones = (lines.c.type == type_of(BodiesErased), lines.c.site == SERVER_SITE)
    total = (await connection.execute(select(func.count()).select_from(lines).where(*stones))).scalar_one()
    rows = (
        await connection.execute(
            select(lines.c.id, lines.c.envelope, lines.c.body)
            .where(*stones, lines.c.body.is_not(None))
            .order_by(lines.c.position.desc())
            .limit(limit * PARTS)
        )
    ).all()
    found: dict[str, Erasure] = {}
    for row in rows:
        envelope = decode_envelope(row.envelope)
        body = decode_body(envelope, row.body)
        if not isinstance(body, BodiesErased):
            continue
        each = found.setdefault(
            body.erasure,
            Erasure(
                at=envelope.at,
                by=body.by,
                rule=body.rule,
                years=body.years,
                why=body.why,
                case=envelope.case,
                bodies=0,
                words=0,
                refused=0,
                tombstones=[],
            ),
        )
        each.bodies += len(body.bodies)
        each.words += len(body.decisions)
        each.refused += body.refused
        each.tombstones.insert(0, row.id)
    whole = list(found.values())
    if len(rows) == limit * PARTS and len(whole) > 1:
        whole.pop()  # the oldest of those read may have parts beyond
    return whole[:limit], total
