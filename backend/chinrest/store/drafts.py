"""Drafts of guidance packs. Each save is a row of its own, so that nothing that was saved is ever lost."""

from uuid import uuid4

from msgspec import Struct
from sqlalchemy import func, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.engines import Engine
from chinrest.store.faults import StoreError
from chinrest.store.tables import drafts

MEANWHILE = "somebody else has saved this draft since you opened it; see what they changed, then save yours"


class DraftSave(Struct, frozen=True, kw_only=True):
    """One save. `base`: the pack that the draft was made from. `what` it changed, in words. `pack`: what it
    was compiled to."""

    draft: str
    number: int
    base: str
    at: int
    by: str
    what: str
    pack: str | None


_HEAD = [column for column in drafts.c if column.name != "tables"]


async def _begin(connection: AsyncConnection, base: str, tables: bytes, by: str, now: int) -> str:
    draft = str(uuid4())
    await connection.execute(
        insert(drafts).values(draft=draft, number=1, base=base, at=now, by=by, what="", tables=tables)
    )
    return draft


async def _save(
    connection: AsyncConnection, draft: str, seen: int, what: str, tables: bytes, by: str, now: int
) -> int:
    last = await _last(connection, draft)
    if last is None:
        raise StoreError("draft_unknown", "draft", "there is no such draft")
    if seen != last.number:
        raise StoreError("changed_meanwhile", "seen", MEANWHILE)
    number = last.number + 1
    row = {"draft": draft, "number": number, "base": last.base, "at": now, "by": by}
    try:
        await connection.execute(insert(drafts).values(**row, what=what, tables=tables))
    except IntegrityError as error:  # another server's, on the same database
        raise StoreError("changed_meanwhile", "seen", MEANWHILE) from error
    return number


async def _last(connection: AsyncConnection, draft: str) -> DraftSave | None:
    asked = select(*_HEAD).where(drafts.c.draft == draft).order_by(drafts.c.number.desc()).limit(1)
    row = (await connection.execute(asked)).first()
    return DraftSave(**row._mapping) if row else None


class Drafting:
    """Part of the store: drafts of packs."""

    _engine: Engine

    async def begin_draft(self, base: str, tables: bytes, by: str, now: int) -> str:
        """A new draft with its first save; its id."""
        return await self._engine.write(lambda connection: _begin(connection, base, tables, by, now))

    async def save_draft(self, draft: str, seen: int, what: str, tables: bytes, by: str, now: int) -> int:
        """The number of the new save. Faults: draft_unknown; changed_meanwhile, where `seen` is not the
        number of the last."""
        return await self._engine.write(
            lambda connection: _save(connection, draft, seen, what, tables, by, now)
        )

    async def drafts(self) -> list[DraftSave]:
        """The last save of each, the newest first."""
        newest = select(drafts.c.draft, func.max(drafts.c.number).label("number")).group_by(drafts.c.draft)
        last = newest.subquery()
        asked = select(*_HEAD).join(
            last, (drafts.c.draft == last.c.draft) & (drafts.c.number == last.c.number)
        )
        async with self._engine.read() as connection:
            rows = await connection.execute(asked.order_by(drafts.c.at.desc(), drafts.c.draft))
            return [DraftSave(**row._mapping) for row in rows]

    async def draft_saves(self, draft: str) -> list[DraftSave]:
        """Every save of one, the newest first; empty where there is none."""
        asked = select(*_HEAD).where(drafts.c.draft == draft).order_by(drafts.c.number.desc())
        async with self._engine.read() as connection:
            return [DraftSave(**row._mapping) for row in await connection.execute(asked)]

    async def draft_tables(self, draft: str, number: int) -> bytes | None:
        """The whole source as that save has it."""
        asked = select(drafts.c.tables).where(drafts.c.draft == draft, drafts.c.number == number)
        async with self._engine.read() as connection:
            found: bytes | None = (await connection.execute(asked)).scalar_one_or_none()
            return found

    async def note_draft_compiled(self, draft: str, number: int, pack: str) -> None:
        """What a save was compiled to."""

        async def note(connection: AsyncConnection) -> None:
            await connection.execute(
                update(drafts).where(drafts.c.draft == draft, drafts.c.number == number).values(pack=pack)
            )

        await self._engine.write(note)
