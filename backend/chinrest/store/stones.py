"""Tombstones of the server's own chain, as the folds read them."""

from sqlalchemy import ColumnElement, select, true
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.erasure_events import BodiesErased, ErasedIncident
from chinrest.log.erasures import decisions_of, loose_kept
from chinrest.log.kept import SERVER_SITE
from chinrest.log.line import decode_envelope
from chinrest.log.registry import decode_body, type_of
from chinrest.log.review_events import ReviewBody
from chinrest.store.tables import lines


async def decisions(connection: AsyncConnection, case: str | None) -> dict[str, ReviewBody]:
    """Erased review lines of a case, or of incidents without one, by their ids and without their words."""
    return decisions_of(await _stones(connection, lines.c.case_id == case))


async def all_decisions(connection: AsyncConnection) -> dict[str, ReviewBody]:
    return decisions_of(await _stones(connection, true()))


async def kept_of_loose(connection: AsyncConnection, device: str) -> list[ErasedIncident]:
    """Erased incidents that the device told of and that belong to no case."""
    return loose_kept(await _stones(connection, lines.c.case_id.is_(None)), device)


async def _stones(connection: AsyncConnection, which: ColumnElement[bool]) -> list[BodiesErased]:
    rows = await connection.execute(
        select(lines.c.envelope, lines.c.body)
        .where(lines.c.type == type_of(BodiesErased))
        .where(lines.c.site == SERVER_SITE)
        .where(lines.c.body.is_not(None))
        .where(which)
        .order_by(lines.c.position)
    )
    bodies = [decode_body(decode_envelope(row.envelope), row.body) for row in rows]
    return [body for body in bodies if isinstance(body, BodiesErased)]
