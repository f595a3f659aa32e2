"""Which cases have lines that are not folded yet: written down in the transaction that stores the lines, so
that whatever ends the program, the next to look knows."""

from collections.abc import Collection, Mapping, Sequence

from msgspec import Struct
from sqlalchemy import (
    Boolean,
    Column,
    ColumnElement,
    String,
    Table,
    and_,
    bindparam,
    delete,
    exists,
    func,
    insert,
    or_,
    select,
    update,
)
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.scope import Scope
from chinrest.store.tables import cases, lines, metadata

unfolded = Table(
    "unfolded",
    metadata,
    Column("case_id", String(64), primary_key=True),
    Column("device", String(36), nullable=False),
    Column("failed", Boolean, nullable=False),
)
"""Only `device` has written in the case, and it has no row in any table of folds; or it has `failed`: it was
tried, and could not be folded. What was folded of it before stands then, and `device` says nothing. What a
device noted outside any case has a row under `outside(device)` where it has failed, and no other."""

_OUTSIDE = "@"
"""No case's id begins so (`chinrest.log.line`)."""

# what each batch asks, made once (see devices.py)
_MARKS = select(unfolded).where(unfolded.c.case_id.in_(bindparam("part", expanding=True)))
_FOLDED = select(cases.c.case_id).where(cases.c.case_id.in_(bindparam("part", expanding=True)))
_WAITING = select(unfolded.c.case_id).where(~unfolded.c.failed)
_WAITS = _WAITING.limit(1)
_WAITS_BUT_FOR = _WAITS.where(unfolded.c.device != bindparam("device"))

PART = 500
"""Values in one IN list."""


class Mark(Struct, frozen=True, kw_only=True):
    """`device`: whose lines alone the case has, unless it has `failed`: it could not be folded."""

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
        rows = await connection.execute(_MARKS, {"part": part})
        found.update({row.case_id: Mark(device=row.device, failed=row.failed) for row in rows})
    return found


async def new_among(connection: AsyncConnection, case_ids: Collection[str]) -> set[str]:
    """Those of which nothing was folded yet: nobody has seen any of it."""
    known: set[str] = set()
    for part in _parts(case_ids):
        found = await connection.execute(_FOLDED, {"part": part})
        known.update(found.scalars())
    return set(case_ids) - known


async def sites_of(connection: AsyncConnection, case_ids: Collection[str]) -> set[str]:
    """Whose cases these are, as far as they are folded."""
    found: set[str] = set()
    for part in _parts(case_ids):
        rows = await connection.execute(select(cases.c.site).where(cases.c.case_id.in_(part)).distinct())
        found.update(rows.scalars())
    return found


async def remove(connection: AsyncConnection, case_ids: Collection[str]) -> int:
    """How many there were."""
    removed = 0
    for part in _parts(case_ids):
        done = await connection.execute(delete(unfolded).where(unfolded.c.case_id.in_(part)))
        removed += done.rowcount
    return removed


async def remove_all(connection: AsyncConnection) -> None:
    await connection.execute(delete(unfolded))


async def note_failed(connection: AsyncConnection, case: str, device: str = "") -> None:
    known = await connection.execute(update(unfolded).where(unfolded.c.case_id == case).values(failed=True))
    if known.rowcount == 0:
        await connection.execute(insert(unfolded).values(case_id=case, device=device, failed=True))


def outside(device: str) -> str:
    """Under what stands here that a device's lines outside any case could not be folded."""
    return _OUTSIDE + device


_is_outside = unfolded.c.case_id.startswith(_OUTSIDE)


class Failed(Struct, frozen=True, kw_only=True):
    """What could not be folded: how many cases, and how many devices' lines outside any case."""

    cases: int
    devices: int


async def failed_count(connection: AsyncConnection, scope: Scope) -> Failed:
    """Of those with lines of a site that is seen: what they hold is in no list and no count, or what they
    held before."""
    chosen: list[ColumnElement[bool]] = [unfolded.c.failed]
    if scope.site is not None:
        of_it = or_(
            lines.c.case_id == unfolded.c.case_id,
            and_(_is_outside, lines.c.device == unfolded.c.device, lines.c.case_id.is_(None)),
        )
        chosen.append(exists().where(of_it, lines.c.site == scope.site))
    found = await connection.execute(
        select(_is_outside, func.count()).select_from(unfolded).where(*chosen).group_by(_is_outside)
    )
    counted = {bool(row[0]): row[1] for row in found}
    return Failed(cases=counted.get(False, 0), devices=counted.get(True, 0))


async def failed(connection: AsyncConnection) -> list[str]:
    """The cases that could not be folded."""
    found = await connection.execute(select(unfolded.c.case_id).where(unfolded.c.failed, ~_is_outside))
    return list(found.scalars())


async def failed_outside(connection: AsyncConnection) -> list[str]:
    """The devices of which the lines outside any case could not be folded."""
    found = await connection.execute(select(unfolded.c.device).where(unfolded.c.failed, _is_outside))
    return list(found.scalars())


async def waiting(connection: AsyncConnection) -> list[str]:
    """The cases to fold."""
    found = await connection.execute(_WAITING.order_by(unfolded.c.case_id))
    return list(found.scalars())


async def any_waits(connection: AsyncConnection, but_for: str | None = None) -> bool:
    """Whether a case waits to be folded. `but_for`: cases that this device alone wrote in don't count."""
    found = await (
        connection.execute(_WAITS)
        if but_for is None
        else connection.execute(_WAITS_BUT_FOR, {"device": but_for})
    )
    return found.first() is not None


def _parts(case_ids: Collection[str]) -> list[Sequence[str]]:
    ordered = sorted(case_ids)
    return [ordered[start : start + PART] for start in range(0, len(ordered), PART)]
