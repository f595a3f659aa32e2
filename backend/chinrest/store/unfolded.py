"""Which cases have lines that are not folded yet: written down in the transaction that stores the lines, so
that whatever ends the program, the next to look knows."""

from collections.abc import Collection, Mapping, Sequence

from msgspec import Struct
from sqlalchemy import Boolean, Column, String, Table, delete, func, insert, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.kept import SERVER_SITE
from chinrest.store.scope import Scope
from chinrest.store.tables import cases, devices, lines, metadata

unfolded = Table(
    "unfolded",
    metadata,
    Column("case_id", String(64), primary_key=True),
    Column("device", String(36), nullable=False),
    Column("failed", Boolean, nullable=False),
)
"""Only `device` has written in the case, and it has no row in any table of folds. `failed`: it was tried, and
could not be folded; then others may have written in it too, and what was folded of it before stands."""

PART = 500
"""Values in one IN list."""


class Mark(Struct, frozen=True, kw_only=True):
    """`device`: who wrote in the case first, and alone where it has not `failed`. `failed`: it was tried, and
    could not be folded."""

    device: str
    failed: bool


async def add(connection: AsyncConnection, device: str, case_ids: Collection[str]) -> None:
    rows = [{"case_id": case, "device": device, "failed": False} for case in sorted(case_ids)]
    if rows:
        await connection.execute(insert(unfolded), rows)


async def marks(connection: AsyncConnection, case_ids: Collection[str]) -> Mapping[str, Mark]:
    """Of these cases, those that are not folded."""
    found: dict[str, Mark] = {}
    for part in _parts(case_ids):
        rows = await connection.execute(select(unfolded).where(unfolded.c.case_id.in_(part)))
        found.update({row.case_id: Mark(device=row.device, failed=row.failed) for row in rows})
    return found


async def new_among(connection: AsyncConnection, case_ids: Collection[str]) -> set[str]:
    """Those of which nothing was folded yet: nobody has seen any of it."""
    known: set[str] = set()
    for part in _parts(case_ids):
        found = await connection.execute(select(cases.c.case_id).where(cases.c.case_id.in_(part)))
        known.update(found.scalars())
    return set(case_ids) - known


async def sites_of(connection: AsyncConnection, case_ids: Collection[str]) -> set[str]:
    """Whose cases these are, as far as they are folded."""
    found: set[str] = set()
    for part in _parts(case_ids):
        rows = await connection.execute(select(cases.c.site).where(cases.c.case_id.in_(part)).distinct())
        found.update(rows.scalars())
    return found


async def remove(connection: AsyncConnection, case_ids: Collection[str]) -> None:
    for part in _parts(case_ids):
        await connection.execute(delete(unfolded).where(unfolded.c.case_id.in_(part)))


async def remove_all(connection: AsyncConnection) -> None:
    await connection.execute(delete(unfolded))


async def note_failed(connection: AsyncConnection, case: str) -> None:
    known = await connection.execute(update(unfolded).where(unfolded.c.case_id == case).values(failed=True))
    if known.rowcount == 0:
        wrote = await connection.execute(
            select(lines.c.device)
            .where(lines.c.case_id == case, lines.c.site != SERVER_SITE)
            .order_by(lines.c.position)
            .limit(1)
        )
        device = wrote.scalar_one_or_none() or ""
        await connection.execute(insert(unfolded).values(case_id=case, device=device, failed=True))


async def failed_count(connection: AsyncConnection, scope: Scope) -> int:
    """How many cases could not be folded: what they hold is in no list and no count."""
    found = await connection.execute(
        select(func.count())
        .select_from(unfolded.join(devices, devices.c.id == unfolded.c.device))
        .where(unfolded.c.failed, *scope.of(devices.c.site))
    )
    return int(found.scalar_one())


async def try_again(connection: AsyncConnection) -> None:
    """Whatever failed counts as waiting again."""
    await connection.execute(update(unfolded).where(unfolded.c.failed).values(failed=False))


async def waiting(connection: AsyncConnection) -> list[str]:
    """The cases to fold."""
    found = await connection.execute(
        select(unfolded.c.case_id).where(~unfolded.c.failed).order_by(unfolded.c.case_id)
    )
    return list(found.scalars())


async def any_waits(connection: AsyncConnection, but_for: str | None = None) -> bool:
    """Whether a case waits to be folded. `but_for`: cases that this device alone wrote in don't count."""
    wanted = select(unfolded.c.case_id).where(~unfolded.c.failed).limit(1)
    if but_for is not None:
        wanted = wanted.where(unfolded.c.device != but_for)
    return (await connection.execute(wanted)).first() is not None


def _parts(case_ids: Collection[str]) -> list[Sequence[str]]:
    ordered = sorted(case_ids)
    return [ordered[start : start + PART] for start in range(0, len(ordered), PART)]
