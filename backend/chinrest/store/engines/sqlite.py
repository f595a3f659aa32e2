"""Connections to the embedded database. What only SQLite knows stands in this file and nowhere else.

One connection writes, and each write is one immediate transaction: a deferred one that reads and then writes
fails at once when another has written meanwhile, whatever the time-out. Others read, each from one snapshot.
"""

import asyncio
import sqlite3
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import asynccontextmanager, closing, contextmanager
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import URL, Connection, event
from sqlalchemy import Engine as SyncEngine
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine, create_async_engine

from chinrest.store.engines.base import Engine
from chinrest.store.engines.changes import begin_noting, noted
from chinrest.store.engines.one_trip import connect, kept_brief
from chinrest.store.faults import StoreError

T = TypeVar("T")

BUSY_SECONDS = 30.0
READERS = 4
WRITER_CACHE_KIB = 64 * 1024
"""Each line goes into several indices at random places; with the 2 MiB of the default every batch reads and
writes the same pages over and over once there are some million lines."""
READER_CACHE_KIB = 16 * 1024
CHECKPOINT = "PRAGMA wal_autocheckpoint=4000"
"""Pages (16 MB) after which a commit also writes its log back into the file. With the 1,000 of the default
every second large batch did, and wrote the same pages of the indices over and over."""
SECURE = "PRAGMA secure_delete=ON"
"""What is deleted is written over with zeros, and does not stay until its place in the file is used again."""


class SqliteEngine(Engine):
    """A full disk, a file that is damaged or may not be written: StoreError `file`, with what the database
    said."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self._path = path
        # the driver leaves a thread in an ended loop behind where a file can't be opened: try it first
        with self._told(), closing(sqlite3.connect(path)):
            pass
        ours = ("PRAGMA journal_mode=WAL", CHECKPOINT, SECURE, _cache(WRITER_CACHE_KIB))
        self._writer = _engine(path, 1, "BEGIN IMMEDIATE", ours)
        self._reader = _engine(path, READERS, "BEGIN", ("PRAGMA query_only=ON", _cache(READER_CACHE_KIB)))
        self._turn = asyncio.Lock()

    @property
    def sync_engine(self) -> SyncEngine:
        return self._writer.sync_engine

    async def _write(self, work: Callable[[AsyncConnection], Awaitable[T]], *, brief: bool) -> T:
        with self._told():
            async with self._turn, self._writer.begin() as connection:
                begin_noting(connection)
                async with kept_brief(connection, brief):
                    done = await work(connection)
                changed = noted(connection)
        # of this process alone: another that writes to the same file is heard at the next asking
        self._bell.ring(changed)
        return done

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as fault:
            raise StoreError("file", str(self._path), str(fault)) from fault
        except DatabaseError as fault:
            # its other kinds are faults of ours, not of the file
            if isinstance(fault, OperationalError) or type(fault) is DatabaseError:
                raise StoreError("file", str(self._path), str(fault.orig)) from fault
            raise

    @asynccontextmanager
    async def _read(self, *, brief: bool) -> AsyncIterator[AsyncConnection]:
        with self._told():
            async with (
                self._reader.connect() as connection,
                kept_brief(connection, brief),
                connection.begin(),
            ):
                yield connection

    async def scrub(self) -> None:
        with self._told():
            async with self._turn:
                await asyncio.to_thread(_scrub, self._path)

    async def copy_to(self, target: Path) -> None:
        with self._told():
            await asyncio.to_thread(_copy, self._path, target)

    async def _dispose(self) -> None:
        await self._writer.dispose()
        await self._reader.dispose()


def _cache(kib: int) -> str:
    return f"PRAGMA cache_size=-{kib}"


def _scrub(path: Path) -> None:
    with closing(sqlite3.connect(path, timeout=BUSY_SECONDS, isolation_level=None)) as database:
        database.execute(SECURE)
        database.execute("VACUUM")
        # what stood before is in the log beside the file until that is written back and cut to nothing
        [(busy, *_)] = database.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    if busy:
        why = "somebody reads from it, so its log still holds what was erased; do it again"
        raise StoreError("busy", str(path), why)


def _copy(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as here, closing(sqlite3.connect(target)) as there:
        here.backup(there)
        # one file, with no log beside it that could be left behind
        there.execute("PRAGMA journal_mode=DELETE")
        [(found,)] = there.execute("PRAGMA integrity_check").fetchall()[:1]
    if found != "ok":
        raise StoreError("file", str(source), f"the database is damaged: {found}")


def _engine(path: Path, connections: int, begin: str, pragmas: tuple[str, ...]) -> AsyncEngine:
    engine = create_async_engine(
        URL.create("sqlite+aiosqlite", database=str(path)),
        pool_size=connections,
        max_overflow=0,
        async_creator=partial(connect, path, BUSY_SECONDS),
    )

    def on_connect(dbapi_connection: Any, _record: object) -> None:
        # no transactions of the driver's own making: ours are begun below, by name
        dbapi_connection.isolation_level = None
        cursor = dbapi_connection.cursor()
        for pragma in (*pragmas, "PRAGMA synchronous=FULL", "PRAGMA foreign_keys=ON"):
            cursor.execute(pragma)
        cursor.close()

    def on_begin(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    event.listen(engine.sync_engine, "connect", on_connect)
    event.listen(engine.sync_engine, "begin", on_begin)
    return engine
