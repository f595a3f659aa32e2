"""Classes of closed reactions, derived for whoever reads a case by the tables of the pack that was in use."""

import asyncio
from collections.abc import Sequence

from msgspec.structs import replace

from chinrest.log.reaction_rows import ReactionRow
from chinrest.model.reaction.classes import classes_of
from chinrest.model.reaction.criteria import ever_seen
from chinrest.model.reaction.tables import ReactionTables
from chinrest.pack.compiled import decode_pack
from chinrest.pack.faults import PackFaults
from chinrest.store import Store

RUNNING = "It has not ended: no class is derived while a reaction runs."
NO_PACK = "The pack that was in use is not on this server: no table to derive a class from."
NO_TABLES = "The pack that was in use has no tables for a reaction."


async def with_classes(store: Store, rows: Sequence[ReactionRow]) -> list[ReactionRow]:
    """Each row with its classes, or with why it has none."""
    tables: dict[str, ReactionTables | str] = {}
    for sha in {row.pack for row in rows if row.pack and row.ended_at is not None}:
        tables[sha] = await tables_of(store, sha)
    return [_classed(row, tables.get(row.pack or "", NO_PACK)) for row in rows]


_read: dict[str, ReactionTables | str] = {}
"""Of packs read before, by their hash: what stands under a hash never changes."""
READ_KEPT = 32


async def tables_of(store: Store, sha256: str) -> ReactionTables | str:
    """The pack's tables, or why there are none."""
    if sha256 not in _read:
        raw = await store.pack_bytes(sha256)
        if raw is None:
            return NO_PACK
        while len(_read) >= READ_KEPT:
            _read.pop(next(iter(_read)))
        _read[sha256] = await asyncio.to_thread(_tables_in, raw)
    return _read[sha256]


def _tables_in(raw: bytes) -> ReactionTables | str:
    try:
        pack = decode_pack(raw)
    except PackFaults:  # one of a version before or after this one's: its case is shown without classes
        return "The pack that was in use cannot be read by this version."
    return pack.reaction or NO_TABLES


def _classed(row: ReactionRow, tables: ReactionTables | str) -> ReactionRow:
    if row.ended_at is None:
        return replace(row, why=RUNNING)
    if isinstance(tables, str):
        return replace(row, why=tables)
    seen = ever_seen(tables, [(sign, True) for sign in row.signs], [row.lowest])
    return replace(row, classes=classes_of(tables, seen, closed=True))
