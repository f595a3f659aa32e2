"""Many rows into one table, without a step for each value of each row: a phone's first exchange has ten
thousand."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from sqlalchemy import Dialect, Table, insert
from sqlalchemy.ext.asyncio import AsyncConnection


@lru_cache(maxsize=16)
def _statement(table: Table, dialect: Dialect) -> str:
    return str(insert(table).compile(dialect=dialect))


async def insert_rows(connection: AsyncConnection, table: Table, rows: Sequence[tuple[Any, ...]]) -> None:
    """Each row has all of the table's columns, in their order, as the driver itself takes them."""
    statement, given = _statement(table, connection.dialect), list(rows)
    if connection.dialect.positional:
        await connection.exec_driver_sql(statement, given)
    else:
        names = table.columns.keys()
        await connection.exec_driver_sql(statement, [dict(zip(names, row, strict=True)) for row in given])
