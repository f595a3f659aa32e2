"""Sums of the tallies by kind, key, sub, site and month: kept in the transaction that changes a case's
tallies."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import delete, func, insert, select, text
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.tables import sums, tallies

Sum = tuple[str, str, str, str, str]
"""kind, key, sub, site, month"""

ADD = text(
    "INSERT INTO sums (kind, key, sub, site, month, n) VALUES (:kind, :key, :sub, :site, :month, :n) "
    "ON CONFLICT (kind, key, sub, site, month) DO UPDATE SET n = sums.n + excluded.n"
)
NAMES = ("kind", "key", "sub", "site", "month")
BY = tuple(tallies.c[name] for name in NAMES)


async def of_cases(connection: AsyncConnection, part: Sequence[str]) -> dict[Sum, int]:
    """What these cases add to the sums as they stand now."""
    rows = await connection.execute(
        select(*BY, func.sum(tallies.c.n)).where(tallies.c.case_id.in_(part)).group_by(*BY)
    )
    return {(row[0], row[1], row[2], row[3], row[4]): int(row[5]) for row in rows}


async def change(
    connection: AsyncConnection, before: Mapping[Sum, int], rows: Sequence[Mapping[str, Any]]
) -> None:
    """From what cases added `before` to what their new tallies (`rows`) add."""
    changed: Counter[Sum] = Counter()
    for row in rows:
        changed[row["kind"], row["key"], row["sub"], row["site"], row["month"]] += row["n"]
    changed.subtract(before)
    moved = {of: n for of, n in sorted(changed.items()) if n}
    if moved:
        added = [{**dict(zip(NAMES, of, strict=True)), "n": n} for of, n in moved.items()]
        await connection.execute(ADD, added)
    if any(n < 0 for n in moved.values()):
        await connection.execute(delete(sums).where(sums.c.n == 0))


async def anew(connection: AsyncConnection) -> None:
    """From the tallies alone."""
    await connection.execute(delete(sums))
    await connection.execute(
        insert(sums).from_select([*NAMES, "n"], select(*BY, func.sum(tallies.c.n)).group_by(*BY))
    )
