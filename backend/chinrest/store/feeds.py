"""Where a case's lines stand in the feed that phones read by a cursor, and when they stand there anew."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Row, func, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.amendments import Standing
from chinrest.log.case_events import CaseClosed, LineAmended
from chinrest.log.cases import CaseFact
from chinrest.log.erasure_events import BodiesErased
from chinrest.store.house import take_positions
from chinrest.store.tables import lines


def newly_shown(before: Row[*tuple[Any, ...]], now: CaseFact) -> bool:
    """Open again, or another site's than was thought: phones have passed some of its lines by."""
    return now.state == "open" and (before.state == "closed" or before.site != now.site)


async def feed_again(connection: AsyncConnection, case: str) -> None:
    """Give a case's lines the newest places, in their order: every phone takes them once more."""
    of_case = lines.c.case_id == case
    first, last = (
        await connection.execute(select(func.min(lines.c.feed), func.max(lines.c.feed)).where(of_case))
    ).one()
    if first is None:  # none of its lines stands any more
        return
    start = await take_positions(connection, last - first + 1)
    await connection.execute(update(lines).where(of_case).values(feed=lines.c.feed + (start - first)))


def closed_feed(standing: Sequence[Standing], feeds: dict[str, int]) -> int:
    """Where phones learn that the case is closed: the last closing line, or amendment of one."""
    stones = [line.kept.envelope.id for line in standing if isinstance(line.first, BodiesErased)]
    if stones:
        return max(feeds[stone] for stone in stones)
    closing = {line.kept.envelope.id for line in standing if isinstance(line.first, CaseClosed)}
    amendments = {
        line.kept.envelope.id: line.first.line for line in standing if isinstance(line.first, LineAmended)
    }
    elsewhere: set[str] = set()  # amendments known to lead to no closing line
    for start in amendments:
        path: dict[str, None] = {}
        line: str | None = start
        while line is not None and line not in closing and line not in elsewhere and line not in path:
            path[line] = None
            line = amendments.get(line)
        (closing if line in closing else elsewhere).update(path)
    return max(feeds[line] for line in closing)
