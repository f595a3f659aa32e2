"""The embedded database's cursors: what comes with the statement, and what is read in parts, is what
`sqlite3` of the standard library gives."""

import asyncio
import sqlite3
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

from chinrest.store.engines.one_trip import ROWS_AT_ONCE, OneTripConnection, OneTripCursor, connect

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
