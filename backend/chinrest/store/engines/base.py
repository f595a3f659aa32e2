"""What every engine does: writes one after another, reads beside them from one state each."""

import asyncio
from abc import ABC, abstractmethod
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AbstractAsyncContextManager, AbstractContextManager, asynccontextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Engine as SyncEngine
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.engines.changes import Bell, Hearing

T = TypeVar("T")


class Engine(ABC):
    """A database that may not be used, or fails: StoreError `file`, with what the database said."""

    def __init__(self) -> None:
        self._writing: set[asyncio.Task[Any]] = set()
        self._bell = Bell()
        self._shared: ContextVar[AsyncConnection | None] = ContextVar("shared", default=None)

    async def write(self, work: Callable[[AsyncConnection], Awaitable[T]], *, brief: bool = False) -> T:
        """Run `work` in one transaction: committed when this returns, undone when it raises.

        Writes are one after another, those of other processes too. A caller that goes away (a lost link)
        does not stop it half-way. `brief`: each statement finds few rows by an index; an engine may do it at
        once then, and let others wait for it.
        """
        task = asyncio.ensure_future(self._write(work, brief=brief))
        self._writing.add(task)
        task.add_done_callback(self._written)
        return await asyncio.shield(task)

    def _written(self, task: asyncio.Task[Any]) -> None:
        self._writing.discard(task)
        if not task.cancelled():
            task.exception()  # marks it as seen, for a caller that has gone

    def hear(self, site: str | None) -> AbstractContextManager[Hearing]:
        """Be told of each kind of thing that is changed from now on (`changes.note_change`) at this site, or
        where it is null at any, by whichever process this engine can hear of."""
        return self._bell.hear(site)

    async def close(self) -> None:
        """Let running writes end, then close every connection and its thread."""
        while self._writing:
            await asyncio.wait(self._writing)
        await self._dispose()

    @property
    @abstractmethod
    def sync_engine(self) -> SyncEngine:
        """What the writing connections come from; for those who listen to its events."""

    @abstractmethod
    async def _write(self, work: Callable[[AsyncConnection], Awaitable[T]], *, brief: bool) -> T: ...

    @abstractmethod
    async def _dispose(self) -> None: ...

    @asynccontextmanager
    async def read(self, *, brief: bool = False) -> AsyncIterator[AsyncConnection]:
        """A connection that sees one state of the database throughout, and can't write. `brief` as in
        `write`."""
        shared = self._shared.get()
        if shared is not None:
            yield shared
            return
        async with self._read(brief=brief) as connection:
            yield connection

    @property
    def is_shared(self) -> bool:
        """Whether this task reads inside `one_state`."""
        return self._shared.get() is not None

    @asynccontextmanager
    async def one_state(self, *, brief: bool = False) -> AsyncIterator[None]:
        """All reads of this task inside see the same state, on one connection: no trip to begin and end each.
        `brief` as in `write`.

        Start no other task inside that may outlive it.
        """
        async with self._read(brief=brief) as connection:
            before = self._shared.set(connection)
            try:
                yield
            finally:
                self._shared.reset(before)

    @abstractmethod
    def _read(self, *, brief: bool) -> AbstractAsyncContextManager[AsyncConnection]: ...

    @abstractmethod
    async def scrub(self) -> None:
        """Write the database's files anew without what was deleted, as far as something was erased in them.
        Faults: file; busy (somebody reads)."""

    @abstractmethod
    async def copy_to(self, target: Path) -> None:
        """One state of the database as a file of its own, while others read and write. Fault: file."""
