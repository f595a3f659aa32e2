"""The embedded database's driver with one trip to a connection's thread for each statement, or none.

The driver goes there for each of its calls, and SQLAlchemy makes four of them for a statement: a cursor, the
statement, its rows, the end. A sync makes some thirty statements that find a row or two by an index in a few
microseconds, and a trip takes two hundred: while a connection is `brief` it makes none for these.
"""

import sqlite3
from collections import deque
from collections.abc import AsyncIterator, Callable, Iterable, Sequence
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any, TypeVar

from aiosqlite import Connection
from sqlalchemy.ext.asyncio import AsyncConnection

T = TypeVar("T")
Row = tuple[Any, ...]

ROWS_AT_ONCE = 256
"""That come with the statement. Where there may be more, the cursor stays open, so that a long result is
still read in parts where somebody asks for parts."""
MANY = 64
"""Rows of which a brief connection makes a trip all the same."""


class OneTripCursor:
    """As far as SQLAlchemy asks for it. The errors are those of `sqlite3`."""

    def __init__(self, connection: "OneTripConnection") -> None:
        self._connection = connection
        self._cursor: sqlite3.Cursor | None = None
        self._open = False
        self._rows: deque[Row] = deque()
        self.arraysize = 1

    async def __aenter__(self) -> "OneTripCursor":
        return self

    @property
    def description(self) -> Any:
        return self._cursor.description if self._cursor else None

    @property
    def rowcount(self) -> int:
        return self._cursor.rowcount if self._cursor else -1

    @property
    def lastrowid(self) -> int | None:
        return self._cursor.lastrowid if self._cursor else None

    async def execute(self, sql: str, parameters: Iterable[Any] = ()) -> None:
        def trip() -> tuple[sqlite3.Cursor, list[Row]]:
            cursor = self._connection.database.cursor()
            try:
                rows = cursor.execute(sql, tuple(parameters)).fetchmany(ROWS_AT_ONCE)
            except BaseException:
                cursor.close()
                raise
            if len(rows) < ROWS_AT_ONCE:
                cursor.close()
            return cursor, rows

        await self.close()
        self._cursor, rows = await self._connection.trip(trip)
        self._open = len(rows) == ROWS_AT_ONCE
        self._rows = deque(rows)

    async def executemany(self, sql: str, parameters: Sequence[Sequence[Any]]) -> None:
        def trip() -> sqlite3.Cursor:
            cursor = self._connection.database.cursor()
            try:
                return cursor.executemany(sql, parameters)
            finally:
                cursor.close()

        await self.close()
        at_once = len(parameters) <= MANY
        self._cursor = await (self._connection.trip(trip) if at_once else self._connection.long_trip(trip))

    async def fetchone(self) -> Row | None:
        rows = await self.fetchmany(1)
        return rows[0] if rows else None

    async def fetchmany(self, size: int | None = None) -> list[Row]:
        wanted = self.arraysize if size is None else size
        lacking = wanted - len(self._rows)
        if lacking > 0 and self._open and self._cursor:
            cursor = self._cursor
            self._rows.extend(await self._connection.trip(lambda: cursor.fetchmany(lacking)))
        return [self._rows.popleft() for _ in range(min(wanted, len(self._rows)))]

    async def fetchall(self) -> list[Row]:
        if self._open and self._cursor:
            cursor = self._cursor
            self._rows.extend(await self._connection.trip(cursor.fetchall))
            await self.close()
        rows = list(self._rows)
        self._rows.clear()
        return rows

    async def close(self) -> None:
        if self._open and self._cursor:
            self._open = False
            await self._connection.trip(self._cursor.close)


class OneTripConnection(Connection):
    brief = False
    """Statements are done where they are asked for, and everybody else waits for them. Never where one could
    wait for a lock or for much of the disk: what begins and ends a write always goes to the thread."""

    @property
    def database(self) -> sqlite3.Connection:
        """For use on its thread, or while nothing is done there."""
        return self._conn

    async def trip(self, work: Callable[[], T]) -> T:
        return work() if self.brief else await self.long_trip(work)

    async def long_trip(self, work: Callable[[], T]) -> T:
        """Does it on the connection's thread."""
        go: Any = self._execute  # the driver gives it no types
        done: T = await go(work)
        return done

    async def rollback(self) -> None:
        await self.trip(self.database.rollback)

    def cursor(self) -> OneTripCursor:  # type: ignore[override]  # SQLAlchemy only enters what it gets
        return OneTripCursor(self)


@asynccontextmanager
async def kept_brief(connection: AsyncConnection, brief: bool) -> AsyncIterator[None]:
    """Keeps it so inside; another database's connection stays as it is."""
    driver = (await connection.get_raw_connection()).driver_connection
    if not isinstance(driver, OneTripConnection):
        yield
        return
    before, driver.brief = driver.brief, brief
    try:
        yield
    finally:
        driver.brief = before


async def connect(path: Path, wait_s: float) -> Connection:
    """`wait_s`: for a lock that another connection holds."""

    def opened() -> sqlite3.Connection:
        # SQLAlchemy sets the transactions' mode from outside that thread
        return sqlite3.connect(path, timeout=wait_s, check_same_thread=False)

    connection = OneTripConnection(opened, iter_chunk_size=ROWS_AT_ONCE)
    connection._thread.daemon = True  # as SQLAlchemy has it: a forgotten one must not keep us from ending
    return await connection
