"""Copying everything from one database to another, and seeing that it is all there."""

from collections.abc import Callable
from hashlib import sha256

from msgspec import Struct
from sqlalchemy import Table, func, insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.engines import Place, make_room, open_engine
from chinrest.store.faults import StoreError
from chinrest.store.migrate import migrate
from chinrest.store.tables import house, lines, metadata

PART = 2000
"""Rows at a time, so that memory does not grow with the log."""


class Moved(Struct, frozen=True, kw_only=True):
    """Rows of each table, and a hash over every line's bytes in the order of the log, the same on both
    sides."""

    rows: dict[str, int]
    lines_sha256: str


async def move(source: Place, target: Place, told: Callable[[str, int], None]) -> Moved:
    """Copy a whole store into an empty database and verify it. The source is only read; nobody may write to
    it meanwhile. `told` hears of each table and how many of its rows are over.

    Faults: file; not_empty (the target holds a store already); differs.
    """
    here, there = open_engine(source), open_engine(target)
    try:
        async with here.read() as reading:

            async def work(writing: AsyncConnection) -> Moved:
                await writing.run_sync(migrate)
                if (await writing.execute(select(func.count()).select_from(house))).scalar_one():
                    why = "it holds a store already; move into an empty database"
                    raise StoreError("not_empty", "--to", why)
                counts = {}
                for table in metadata.sorted_tables:
                    counts[table.name] = await _copy(reading, writing, table, told)
                before, after = await _digest(reading), await _digest(writing)
                if before != after:
                    raise StoreError("differs", "lines", "the copied lines are not those of the source")
                return Moved(rows=counts, lines_sha256=after)

            return await there.write(work)
    finally:
        await here.close()
        await there.close()


async def _copy(
    reading: AsyncConnection, writing: AsyncConnection, table: Table, told: Callable[[str, int], None]
) -> int:
    """All rows of a table, by its key; how many."""
    done = 0
    result = await reading.stream(select(table).order_by(*table.primary_key.columns))
    async for part in result.mappings().partitions(PART):
        if table is lines:
            await make_room(writing, {(row["site"], row["received_at"]) for row in part})
        await writing.execute(insert(table), [dict(row) for row in part])
        done += len(part)
        told(table.name, done)
    there = (await writing.execute(select(func.count()).select_from(table))).scalar_one()
    if there != done:
        raise StoreError("differs", table.name, f"{done} rows were read, and {there} stand in the copy")
    return done


async def _digest(connection: AsyncConnection) -> str:
    """Over every line's bytes in the order of the log."""
    whole = sha256()
    result = await connection.stream(select(lines.c.envelope, lines.c.body).order_by(lines.c.position))
    async for part in result.partitions(PART):
        for row in part:
            whole.update(row.envelope + b"\t" + (row.body or b"") + b"\n")
    return whole.hexdigest()
