"""Up to where the last backup holds each phone's chain."""

from collections.abc import Sequence

from msgspec import Struct
from sqlalchemy import bindparam, delete, func, insert, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.tables import backed_up, chains, devices

_MARK_OF = select(backed_up).where(backed_up.c.device == bindparam("of"))
"""Each sync asks it: made once (see devices.py)."""


class Mark(Struct, frozen=True, kw_only=True):
    """The last backup, made at `made_at` (ms), holds the device's unbroken chain up to `seq`."""

    device: str
    seq: int
    head_sha256: str
    made_at: int


class LastBackup(Struct, frozen=True, kw_only=True):
    """`made_at` (ms): when the last backup that was read back was begun; null where none holds a phone's
    line. `lines`: whether phones' lines stand here at all."""

    made_at: int | None
    lines: bool


async def last(connection: AsyncConnection) -> LastBackup:
    made_at = (await connection.execute(select(func.max(backed_up.c.made_at)))).scalar_one()
    some = await connection.execute(
        select(chains.c.device)
        .join(devices, devices.c.id == chains.c.device)
        .where(devices.c.kind == "phone", chains.c.seq > 0)
        .limit(1)
    )
    return LastBackup(made_at=made_at, lines=some.first() is not None)


async def heads(connection: AsyncConnection, made_at: int) -> list[Mark]:
    """The heads of all phones' chains as they stand here: what a backup of this state holds."""
    rows = await connection.execute(
        select(chains)
        .join(devices, devices.c.id == chains.c.device)
        .where(devices.c.kind == "phone")
        .where(chains.c.seq > 0)
        .order_by(chains.c.device)
    )
    return [Mark(device=row.device, seq=row.seq, head_sha256=row.sha256, made_at=made_at) for row in rows]


async def note(connection: AsyncConnection, marks: Sequence[Mark]) -> None:
    """From now on these and no others. A device that is no longer known here is passed over."""
    await connection.execute(delete(backed_up))
    known = set((await connection.execute(select(devices.c.id))).scalars())
    rows = [
        {"device": mark.device, "seq": mark.seq, "head_sha256": mark.head_sha256, "made_at": mark.made_at}
        for mark in marks
        if mark.device in known
    ]
    if rows:
        await connection.execute(insert(backed_up), rows)


async def mark_of(connection: AsyncConnection, device: str) -> Mark | None:
    row = (await connection.execute(_MARK_OF, {"of": device})).first()
    if row is None:
        return None
    return Mark(device=row.device, seq=row.seq, head_sha256=row.head_sha256, made_at=row.made_at)
