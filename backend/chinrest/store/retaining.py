"""The store's door for retention: how long cases are kept, what is due, and erasing it."""

from chinrest.log.erasure_events import RetentionSet
from chinrest.log.write import new_salt
from chinrest.store import erasing
from chinrest.store.engines import Engine
from chinrest.store.erasing import Due, Order
from chinrest.store.own import append_own
from chinrest.store.reviewing import Uptime


class Retaining:
    """Part of the store."""

    _engine: Engine
    _uptime: Uptime

    async def retention(self) -> RetentionSet | None:
        """The rule in force; null where none was ever set."""
        async with self._engine.read() as connection:
            return await erasing.retention(connection)

    async def set_retention(self, years: int | None, by: str, why: str, now: int) -> None:
        """From now on. `years` null: cases are kept for good."""
        rule = RetentionSet(salt=new_salt(), by=by, years=years, why=why)
        await self._engine.write(
            lambda connection: append_own(connection, self._uptime, rule, actor=by, now=now)
        )

    async def due_before(self, cutoff: int) -> list[Due]:
        """Cases whose last line from a phone came before `cutoff` (ms), oldest first."""
        async with self._engine.read() as connection:
            return await erasing.due_before(connection, cutoff)

    async def due_case(self, case: str, now: int) -> Due | None:
        """One case, to be erased by request; null where no body of it stands here."""
        async with self._engine.read() as connection:
            return await erasing.due_case(connection, case, now)

    async def erase(self, due: Due, order: Order, now: int) -> int:
        """Erase the bodies of one case, in one transaction; how many. The bytes are gone from the database's
        files only after `scrub`. Faults: case_unknown, held, changed."""
        return await self._engine.write(
            lambda connection: erasing.erase(connection, self._uptime, due, order, now)
        )

    async def scrub(self) -> None:
        """Write the database's files anew, so that what was erased stands nowhere in them. Others wait for as
        long as it takes. Faults: file; busy (somebody reads: do it again)."""
        await self._engine.scrub()
