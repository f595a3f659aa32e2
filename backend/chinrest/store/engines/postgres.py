"""Connections to PostgreSQL. What only PostgreSQL knows stands in this file and nowhere else.

Several server processes may use one database. Writes take one lock for the length of their transaction, so
that a chain and its folds grow one batch after another whoever took it in; reads each see one snapshot and
wait for nobody.
"""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Engine as SyncEngine
from sqlalchemy import text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, InterfaceError, OperationalError
from sqlalchemy.ext.asyncio import AsyncConnection, create_async_engine

from chinrest.store.engines.base import Engine
from chinrest.store.faults import StoreError

T = TypeVar("T")

CONNECTIONS = 8
WRITER_LOCK = 0x6368696E72657374
"""The key of the one lock that every writing transaction takes: "chinrest" in ASCII."""
DRIVER = "postgresql+psycopg"


class PostgresEngine(Engine):
    def __init__(self, address: str) -> None:
        super().__init__()
        try:
            url = make_url(address).set(drivername=DRIVER)
        except ArgumentError as error:
            raise StoreError("file", "database", f"not an address of a database: {error}") from error
        # those of this process in the order in which they came, and one connection for all that wait
        self._turn = asyncio.Lock()
        self._shown = url.render_as_string(hide_password=True)
        self._engine = create_async_engine(
            url,
            pool_size=CONNECTIONS,
            max_overflow=0,
            pool_pre_ping=True,  # a server that was started again has forgotten its connections
            connect_args={"connect_timeout": 10, "application_name": "chinrest"},
        )
        # a snapshot for each reader; the writer sees what was committed once it holds the lock
        self._reader = self._engine.execution_options(
            isolation_level="REPEATABLE READ", postgresql_readonly=True
        )

    @property
    def sync_engine(self) -> SyncEngine:
        return self._engine.sync_engine

    async def _write(self, work: Callable[[AsyncConnection], Awaitable[T]]) -> T:
        with self._told():
            async with self._turn, self._engine.begin() as connection:
                # what is acknowledged is on the disk, however the database was set up
                await connection.execute(text("SET LOCAL synchronous_commit TO on"))
                await connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": WRITER_LOCK})
                return await work(connection)

    @asynccontextmanager
    async def read(self) -> AsyncIterator[AsyncConnection]:
        with self._told():
            async with self._reader.connect() as connection, connection.begin():
                yield connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except DatabaseError as fault:
            # its other kinds are faults of ours, not of the database
            if isinstance(fault, OperationalError | InterfaceError) or type(fault) is DatabaseError:
                raise StoreError("file", self._shown, str(fault.orig)) from fault
            raise

    async def _dispose(self) -> None:
        await self._engine.dispose()

    async def copy_to(self, target: Path) -> None:
        why = "PostgreSQL is backed up by its own means (pg_dump, or a base backup with its write-ahead log)"
        raise StoreError("file", self._shown, why)
