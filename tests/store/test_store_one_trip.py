"""The embedded database's cursors: what comes with the statement, and what is read in parts, is what
`sqlite3` of the standard library gives."""

import asyncio
import sqlite3
import threading
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.engines.one_trip import (
    MANY,
    ROWS_AT_ONCE,
    OneTripConnection,
    OneTripCursor,
    connect,
    kept_brief,
)
from chinrest.store.engines.sqlite import SqliteEngine

pytestmark = pytest.mark.embedded

COUNTS = [0, 1, ROWS_AT_ONCE - 1, ROWS_AT_ONCE, ROWS_AT_ONCE + 1, 3 * ROWS_AT_ONCE]
Reading = Callable[[OneTripCursor], Awaitable[list[Any]]]


async def at_once(cursor: OneTripCursor) -> list[Any]:
    return await cursor.fetchall()


async def one_by_one(cursor: OneTripCursor) -> list[Any]:
    rows = []
    while (row := await cursor.fetchone()) is not None:
        rows.append(row)
    return rows


async def in_parts(cursor: OneTripCursor) -> list[Any]:
    rows = []
    while part := await cursor.fetchmany(100):
        assert len(part) <= 100
        rows += part
    return rows


async def begun_in_parts(cursor: OneTripCursor) -> list[Any]:
    return [*await cursor.fetchmany(7), *await cursor.fetchall()]


def with_numbers(path: Path, count: int) -> Path:
    file = path / "numbers.db"
    with sqlite3.connect(file) as database:
        database.execute("CREATE TABLE numbers (n INTEGER PRIMARY KEY, square INTEGER)")
        database.executemany("INSERT INTO numbers VALUES (?, ?)", [(n, n * n) for n in range(count)])
    database.close()
    return file


def run(file: Path, work: Callable[[OneTripConnection], Awaitable[None]]) -> None:
    async def all_of_it() -> None:
        connection = await connect(file, 1)
        assert isinstance(connection, OneTripConnection)
        try:
            await work(connection)
        finally:
            await connection.close()

    asyncio.run(all_of_it())


@pytest.mark.parametrize("read", [at_once, one_by_one, in_parts, begun_in_parts])
@pytest.mark.parametrize("count", COUNTS)
def test_all_rows_come_in_their_order_however_they_are_read(
    tmp_path: Path, count: int, read: Reading
) -> None:
    async def work(connection: OneTripConnection) -> None:
        cursor = connection.cursor()
        await cursor.execute("SELECT n, square FROM numbers ORDER BY n")
        assert [name for name, *_ in cursor.description] == ["n", "square"]
        assert await read(cursor) == [(n, n * n) for n in range(count)]
        assert await cursor.fetchall() == []

    run(with_numbers(tmp_path, count), work)


def test_a_result_that_was_not_read_to_its_end_keeps_nobody_from_writing(tmp_path: Path) -> None:
    async def work(connection: OneTripConnection) -> None:
        cursor = connection.cursor()
        await cursor.execute("SELECT n FROM numbers")
        await cursor.fetchone()
        await cursor.close()
        await cursor.close()
        # a statement that is still under way would be refused the table: "database table is locked"
        await connection.cursor().execute("DROP TABLE numbers")

    run(with_numbers(tmp_path, 3 * ROWS_AT_ONCE), work)


def test_counts_and_faults_are_the_databases_own(tmp_path: Path) -> None:
    async def work(connection: OneTripConnection) -> None:
        cursor = connection.cursor()
        assert (cursor.description, cursor.rowcount, cursor.lastrowid) == (None, -1, None)
        await cursor.execute("INSERT INTO numbers VALUES (?, ?)", (70, 4900))
        assert (cursor.description, cursor.rowcount, cursor.lastrowid) == (None, 1, 70)
        await cursor.executemany("UPDATE numbers SET square = ? WHERE n = ?", [(0, 70), (1, 1), (0, 99)])
        assert cursor.rowcount == 2
        for faulty in ("SELECT none FROM numbers", "INSERT INTO numbers VALUES (70, 1)"):
            with pytest.raises(sqlite3.Error):
                await cursor.execute(faulty)
        with pytest.raises(sqlite3.IntegrityError):
            await cursor.executemany("INSERT INTO numbers VALUES (?, 1)", [(71,), (70,)])
        await cursor.execute("SELECT count(*) FROM numbers")
        assert await cursor.fetchone() == (5,)

    run(with_numbers(tmp_path, 3), work)


def test_a_brief_connection_does_a_statement_where_it_is_asked_for(tmp_path: Path) -> None:
    async def work(connection: OneTripConnection) -> None:
        threads: list[int] = []
        connection.database.create_function("here", 0, lambda: threads.append(threading.get_ident()))
        connection.brief = True
        cursor = connection.cursor()
        await cursor.execute("SELECT here()")
        connection.brief = False
        await cursor.execute("SELECT here()")
        brief, other = threads
        assert brief == threading.get_ident() != other

    run(with_numbers(tmp_path, 0), work)


def test_many_rows_go_to_the_thread_of_a_brief_connection_too(tmp_path: Path) -> None:
    async def work(connection: OneTripConnection) -> None:
        threads: set[int] = set()
        connection.database.create_function("noted", 1, lambda n: threads.add(threading.get_ident()) or n)
        connection.brief = True
        cursor = connection.cursor()
        for count, first in ((MANY, 0), (MANY + 1, MANY)):
            threads.clear()
            rows = [(first + n, n) for n in range(count)]
            await cursor.executemany("INSERT INTO numbers VALUES (noted(?), ?)", rows)
            assert (threads == {threading.get_ident()}) is (count <= MANY)

    run(with_numbers(tmp_path, 0), work)


@pytest.mark.parametrize("brief", [False, True])
def test_what_a_write_has_done_before_it_fails_is_undone(tmp_path: Path, brief: bool) -> None:
    async def all_of_it() -> list[Any]:
        engine = SqliteEngine(with_numbers(tmp_path, 1))

        async def fails(connection: AsyncConnection) -> None:
            await connection.exec_driver_sql("INSERT INTO numbers VALUES (1, 1)")
            raise RuntimeError("it went wrong")

        async def goes(connection: AsyncConnection) -> None:
            await connection.exec_driver_sql("INSERT INTO numbers VALUES (2, 4)")

        with pytest.raises(RuntimeError, match="it went wrong"):
            await engine.write(fails, brief=brief)
        await engine.write(goes, brief=brief)
        async with engine.read(brief=brief) as connection:
            found = (await connection.exec_driver_sql("SELECT n FROM numbers ORDER BY n")).all()
        await engine.close()
        return [n for (n,) in found]

    assert asyncio.run(all_of_it()) == [0, 2]


def test_a_connection_is_brief_no_longer_than_asked(tmp_path: Path) -> None:
    async def all_of_it() -> None:
        engine = SqliteEngine(with_numbers(tmp_path, 1))

        async def driver_of(connection: AsyncConnection) -> Any:
            return (await connection.get_raw_connection()).driver_connection

        async with engine.read(brief=True) as connection:
            used = await driver_of(connection)
            assert used.brief
            async with kept_brief(connection, False):
                assert not used.brief
            assert used.brief
        assert not used.brief
        await engine.close()

    asyncio.run(all_of_it())
