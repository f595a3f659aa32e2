"""The store's door for retention: how long cases are kept, what is due, and erasing it."""

from chinrest.log.erasure_events import RetentionSet
from chinrest.log.write import new_salt
from chinrest.store import erased, erasing, loose
from chinrest.store.erased import Erasure, InForce
from chinrest.store.erasing import Due, Erased, Order
from chinrest.store.loose import Loose
from chinrest.store.own import append_own
from chinrest.store.reviewing import Uptime
from chinrest.store.settling import Settling


class Retaining(Settling):
    """Part of the store."""

    _uptime: Uptime

    async def retention(self) -> RetentionSet | None:
        """The rule in force; null where none was ever set."""
        async with self._engine.read() as connection:
            found = await erased.rule_in_force(connection)
            return None if found is None else found.rule

    async def rule_in_force(self) -> InForce | None:
        """The same with since when it is; null where none was ever set."""
        async with self._engine.read() as connection:
            return await erased.rule_in_force(connection)

    async def erasures(self, limit: int) -> tuple[list[Erasure], int]:
        """What was erased, newest first, and how many tombstones there are in all."""
        async with self._engine.read() as connection:
            return await erased.erasures(connection, limit)

    async def set_retention(self, years: int | None, by: str, why: str, now: int) -> None:
        """From now on. `years` null: cases are kept for good."""
        rule = RetentionSet(salt=new_salt(), by=by, years=years, why=why)
        await self._engine.write(
            lambda connection: append_own(connection, self._uptime, rule, actor=by, now=now)
        )

    async def due_before(self, cutoff: int) -> list[Due]:
        """Cases whose last line from a phone came before `cutoff` (ms), oldest first."""
        async with self._folds() as connection:
            return await erasing.due_before(connection, cutoff)

    async def due_case(self, case: str, now: int) -> Due | None:
        """One case, to be erased by request; null where no body of it stands here."""
        async with self._folds() as connection:
            return await erasing.due_case(connection, case, now)

    async def loose_before(self, cutoff: int) -> list[Loose]:
        """What belongs to no case and came before `cutoff` (ms), device by device."""
        async with self._folds() as connection:
            return await loose.due_before(connection, cutoff)

    async def loose_incident(self, incident: str) -> Loose | None:
        """One incident without a case, to be erased by request; null where no body of it stands here."""
        async with self._folds() as connection:
            return await loose.due_incident(connection, incident)

    async def erase_loose(self, due: Loose, order: Order, now: int) -> Erased:
        """Erase what belongs to no case, of one device, in one transaction; nothing where it is due no
        longer."""
        return await self._write_on_folds(
            lambda connection: loose.erase(connection, self._uptime, due, order, now)
        )

    async def erase(self, due: Due, order: Order, now: int) -> Erased:
        """Erase the bodies of one case, in one transaction. The bytes are gone from the database's files only
        after `scrub`. Faults: case_unknown, held, changed."""
        return await self._write_on_folds(
            lambda connection: erasing.erase(connection, self._uptime, due, order, now)
        )

    async def scrub(self) -> None:
        """Write anew whatever of the database's files something was erased in, so that it stands nowhere in
        them. Others wait for as long as it takes. Faults: file; busy (somebody reads: do it again)."""
        await self._engine.scrub()
