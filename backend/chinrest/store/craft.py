"""Counts of the craft out of the tallies, from one state of the log."""

from collections import defaultdict
from collections.abc import Sequence
from typing import get_args

from msgspec import Struct
from sqlalchemy import func, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.craft import CraftKind
from chinrest.log.tallies import TallyKind
from chinrest.log.windows import WindowKind
from chinrest.store.counting import Period, within
from chinrest.store.house import position
from chinrest.store.scope import Scope
from chinrest.store.tables import sums

POSES: TallyKind = "pose_cell"
"""Hundreds of counts, which only the calibration reads."""
KINDS: tuple[TallyKind, ...] = (
    *(kind for kind in get_args(CraftKind) if kind != POSES),
    *get_args(WindowKind),
    *("skipped", "again", "use", "visit"),
)

Counts = dict[tuple[str, str], int]
"""Of one kind: (key, sub) to how many."""


class CraftCounts(Struct, frozen=True, kw_only=True):
    kinds: dict[str, Counts]
    position: int


async def craft_counts(
    connection: AsyncConnection, scope: Scope, period: Period, kinds: Sequence[TallyKind] = KINDS
) -> CraftCounts:
    rows = await connection.execute(
        select(sums.c.kind, sums.c.key, sums.c.sub, func.sum(sums.c.n))
        .where(sums.c.kind.in_(kinds), *within(scope, period))
        .group_by(sums.c.kind, sums.c.key, sums.c.sub)
    )
    found: dict[str, Counts] = defaultdict(dict)
    for kind, key, sub, n in rows:
        found[kind][key, sub] = int(n)
    return CraftCounts(kinds=dict(found), position=await position(connection))
