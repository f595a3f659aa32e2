"""Connections to PostgreSQL. What only PostgreSQL knows stands in this file and nowhere else.

Several server processes may use one database. Writes take one lock for the length of their transaction, so
that a chain and its folds grow one batch after another whoever took it in; reads each see one snapshot and
wait for nobody. What changed is told by the database itself when it commits, to every process that listens.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator
from contextlib import AbstractContextManager, asynccontextmanager, contextmanager
from pathlib import Path
from typing import TypeVar

import psycopg
import structlog
from sqlalchemy import Engine as SyncEngine
from sqlalchemy import text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, InterfaceError, OperationalError
from sqlalchemy.ext.asyncio import AsyncConnection, create_async_engine

from chinrest.store.engines.base import Engine
from chinrest.store.engines.changes import EVERYTHING, Hearing, as_text, begin_noting, from_text, noted
from chinrest.store.engines.partitions import marked, write_anew
from chinrest.store.faults import StoreError

T = TypeVar("T")

CONNECTIONS = 8
WRITER_LOCK = 0x6368696E72657374
"""The key of the one lock that every writing transaction takes: "chinrest" in ASCII."""
DRIVER = "postgresql+psycopg"
SCRUBBED = ("refused", "stubs", "incidents", "cases", "reviews")
"""Tables beside the lines that hold what somebody wrote. Written anew: an ordinary vacuum leaves the bytes in
their pages."""
CHANNEL = "chinrest_changes"
LISTEN_AGAIN_S = (0.2, 15.0)
"""The first and the longest pause before a lost listening connection is made again."""

log = structlog.get_logger("chinrest.store")


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
        self._plain = url.set(drivername="postgresql").render_as_string(hide_password=False)
        self._listening: asyncio.Task[None] | None = None
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

    async def _write(self, work: Callable[[AsyncConnection], Awaitable[T]], *, brief: bool) -> T:
        with self._told():
            async with self._turn, self._engine.begin() as connection:
                # what is acknowledged is on the disk, however the database was set up
                await connection.execute(text("SET LOCAL synchronous_commit TO on"))
                await connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": WRITER_LOCK})
                begin_noting(connection)
                done = await work(connection)
                changed = noted(connection)
                if changed:  # comes with the commit, or not at all
                    told = {"channel": CHANNEL, "kinds": as_text(changed)}
                    await connection.execute(text("SELECT pg_notify(:channel, :kinds)"), told)
                return done

    @asynccontextmanager
    async def _read(self, *, brief: bool) -> AsyncIterator[AsyncConnection]:
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

    def hear(self, site: str | None) -> AbstractContextManager[Hearing]:
        if self._listening is None:
            self._listening = asyncio.create_task(self._listen())
        return super().hear(site)

    async def _listen(self) -> None:
        """Pass on what the database tells, on a connection of its own. After a cut nobody knows what was
        missed: then everything may have changed."""
        wait_s = LISTEN_AGAIN_S[0]
        while True:
            try:
                async with await psycopg.AsyncConnection.connect(
                    self._plain, autocommit=True, connect_timeout=10, application_name="chinrest listens"
                ) as connection:
                    await connection.execute(f"LISTEN {CHANNEL}")
                    wait_s = LISTEN_AGAIN_S[0]
                    self._bell.ring(EVERYTHING)
                    async for told in connection.notifies():
                        self._bell.ring(from_text(told.payload))
            except (psycopg.Error, OSError) as fault:
                log.warning("not listening", why=str(fault).strip(), again_s=wait_s)
            await asyncio.sleep(wait_s)
            wait_s = min(2 * wait_s, LISTEN_AGAIN_S[1])

    async def _dispose(self) -> None:
        listening, self._listening = self._listening, None
        if listening is not None:
            listening.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await listening
        await self._engine.dispose()

    async def scrub(self) -> None:
        with self._told():
            plain = self._engine.execution_options(isolation_level="AUTOCOMMIT")
            async with self._turn, plain.connect() as connection:
                # held throughout, so that nobody erases between a table's writing and its mark's going
                await connection.execute(text("SELECT pg_advisory_lock(:key)"), {"key": WRITER_LOCK})
                try:
                    for partition in await marked(connection):
                        await write_anew(connection, partition)
                    for table in SCRUBBED:
                        await connection.execute(text(f"VACUUM (FULL) {table}"))
                finally:
                    await connection.execute(text("SELECT pg_advisory_unlock(:key)"), {"key": WRITER_LOCK})

    async def copy_to(self, target: Path) -> None:
        why = "PostgreSQL is backed up by its own means (pg_dump, or a base backup with its write-ahead log)"
        raise StoreError("file", self._shown, why)
