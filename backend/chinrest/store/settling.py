"""Folding what a large batch left for later, and reading folds: nobody reads any before they are made."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from typing import TypeVar

import structlog
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store import unfolded
from chinrest.store.engines import Engine, note_change
from chinrest.store.faults import StoreError
from chinrest.store.folds import PART
from chinrest.store.refolding import refold_apart

T = TypeVar("T")

PAUSE_S = 0.2
"""First the answer goes out."""
LONGEST_S = 2.0
"""While a phone says that more of its lines wait: folding in between would have it wait, too."""

log = structlog.get_logger("chinrest.store")


async def settle(connection: AsyncConnection) -> None:
    """Fold every case that waits for it, in the caller's write. One that can't be folded is tried again when
    lines of it come, and when the store is opened."""
    waiting = await unfolded.waiting(connection)
    for start in range(0, len(waiting), PART):
        part = waiting[start : start + PART]
        failed = await refold_apart(connection, part)
        await unfolded.remove(connection, set(part) - failed)
        for site in await unfolded.sites_of(connection, part):
            note_change(connection, "lines", site)


class Later:
    """Settles once nobody sends any more. One for each open store, whoever it is bound to."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._running: set[asyncio.Task[None]] = set()
        self._timer: asyncio.TimerHandle | None = None
        self._asked_at = 0.0

    def ask(self, *, large: bool, more: bool) -> None:
        """After each batch. Directly, or where the phone has `more` to send, once that came or LONGEST_S
        after the first. What isn't `large` leaves nothing, but may be the end of what did."""
        if self._timer is None and not large:
            return
        loop = asyncio.get_running_loop()
        now = loop.time()
        if self._timer is None:
            self._asked_at = now
        else:
            self._timer.cancel()
        longest = self._asked_at + LONGEST_S
        due = longest if more else min(now + PAUSE_S, longest)
        self._timer = loop.call_at(due, self._begin)

    def _begin(self) -> None:
        self._timer = None
        task = asyncio.create_task(self._settle())
        self._running.add(task)
        task.add_done_callback(self._running.discard)

    async def _settle(self) -> None:
        try:
            await self._engine.write(settle)
        except StoreError as fault:  # it stays written down: whoever reads next has it done
            log.warning("not folded yet", why=fault.why)

    async def stop(self) -> None:
        """What this process left for later it does now: others may wait to be told of it."""
        if self._timer is not None:
            self._timer.cancel()
            self._begin()
        if self._running:
            await asyncio.wait(self._running)


class Settling:
    """Part of the store: whatever reads folds does so by `_folds` or `_write_on_folds`."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._later = Later(engine)

    async def settle(self) -> None:
        """Fold what waits for it. Of several processes the first does it; the others find nothing."""
        await self._engine.write(settle)

    @asynccontextmanager
    async def one_state(self, own: str | None = None) -> AsyncIterator[None]:
        """Whatever this task reads inside, it reads from one state of the database, and sooner. Writes made
        inside are not seen by it.

        `own`: a device that is answered. Cases that it alone wrote in need not be folded, for it is not told
        of them; other folds can't be read inside then. It takes few
        rows (`Engine.write`, brief).
        """
        while True:
            async with self._engine.one_state(brief=own is not None):
                async with self._engine.read() as connection:
                    waits = await unfolded.any_waits(connection, own)
                if not waits:
                    yield
                    return
            await self.settle()

    @asynccontextmanager
    async def _folds(self, own: str | None = None) -> AsyncIterator[AsyncConnection]:
        """A reading in which every line has been folded; `own` as in `one_state`."""
        while True:
            async with self._engine.read() as connection:
                if not await unfolded.any_waits(connection, own):
                    yield connection
                    return
                if self._engine.is_shared:
                    raise RuntimeError("folds are read in a state for which they were not made")
            await self.settle()

    async def _write_on_folds(self, work: Callable[[AsyncConnection], Awaitable[T]]) -> T:
        """A write that goes by folds."""

        async def settled(connection: AsyncConnection) -> T:
            await settle(connection)
            return await work(connection)

        return await self._engine.write(settled)
