"""What a phone takes: the lines that others wrote in its site's open cases, by a cursor that is ours."""

from sqlalchemy import ColumnElement, Select, and_, bindparam, exists, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.kept import SERVER_SITE
from chinrest.store.engines import kept_brief
from chinrest.store.house import position
from chinrest.store.rows import Pulled
from chinrest.store.tables import cases, lines

PART = 256
"""Lines read at a time."""


def _counts() -> ColumnElement[bool]:
    """Written at the case's own site, or by a device that had written in the case there before."""
    earlier = lines.alias("earlier")
    at_home = exists().where(
        earlier.c.case_id == lines.c.case_id,
        earlier.c.device == lines.c.device,
        earlier.c.seq < lines.c.seq,
        earlier.c.site == cases.c.site,
    )
    return or_(lines.c.site == cases.c.site, at_home)


def _asked(shown: ColumnElement[bool]) -> Select[tuple[int, bytes, bytes]]:
    return (
        select(lines.c.feed, lines.c.envelope, lines.c.body)
        .join(cases, cases.c.case_id == lines.c.case_id)
        .where(cases.c.site == bindparam("site"), shown)
        .where(lines.c.feed > bindparam("at"), lines.c.device != bindparam("device"))
        .where(lines.c.site != SERVER_SITE)
        .where(_counts())
        .where(lines.c.body_state == "plain")
        .order_by(lines.c.feed)
        .limit(PART)
    )


# each sync asks one of them: made once (see devices.py)
_OPEN = _asked(cases.c.state == "open")
_OPEN_OR_CLOSED_SINCE = _asked(
    or_(
        cases.c.state == "open",
        and_(cases.c.state == "closed", cases.c.closed_feed > bindparam("cursor")),
    )
)


async def pull(
    connection: AsyncConnection, site: str, device: str, cursor: int | None, limit_bytes: int
) -> Pulled:
    """Lines after `cursor` of cases of the site that are open, or were closed after it, by other devices.

    Without a cursor: of open cases only. A line whose body can't be read here is passed over, and so is one
    that a phone of another site wrote: it counts for nothing in the case. `limit_bytes`
    counts the lines with their line feeds; a single line comes even when it is larger. `connection` must see
    one state throughout.
    """
    newest = await position(connection)
    if cursor is not None and not 0 <= cursor <= newest:
        cursor = None  # not one of ours: everything that is open comes once more
    asked = _OPEN if cursor is None else _OPEN_OR_CLOSED_SINCE
    given = {"site": site, "device": device} | ({} if cursor is None else {"cursor": cursor})
    taken: list[bytes] = []
    size, at = 0, cursor or 0
    while True:
        async with kept_brief(connection, False):  # nobody knows how many lines it passes over
            rows = (await connection.execute(asked, given | {"at": at})).all()
        for row in rows:
            raw = row.envelope + b"\t" + row.body
            if taken and size + len(raw) + 1 > limit_bytes:
                return Pulled(lines=taken, cursor=at, more=True)
            taken.append(raw)
            size, at = size + len(raw) + 1, row.feed
        if len(rows) < PART:
            return Pulled(lines=taken, cursor=newest, more=False)
