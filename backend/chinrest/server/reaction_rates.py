"""Reactions by their class on one named scale: derived from what was seen each time that it is asked, by the
tables of the pack that was in use."""

from collections import Counter
from collections.abc import Sequence

from msgspec import Struct

from chinrest.model.reaction.classes import classes_of
from chinrest.model.reaction.criteria import ever_seen
from chinrest.model.reaction.tables import ReactionTables, Scale
from chinrest.server.faults import RequestError
from chinrest.server.rates_wire import ScaleUsed
from chinrest.server.reaction_classes import tables_of
from chinrest.store import Store
from chinrest.store.counting import SeenReaction

UNPLACED = "unplaced"
"""No sign that was seen is placed on this scale."""
NO_TABLE = "no_table"
"""The pack that was in use is not here, or has no such scale."""
RUNNING = "running"
"""It has not ended: no class is derived while a reaction runs."""
RULES = [
    "A class is derived each time it is asked for, from the signs on record and by the tables of the pack "
    "that was in use; it stands in no line. Scales disagree, and none is mapped onto another.",
    "A reaction is of the class of its heaviest sign that the scale places. Signs that the scale says "
    "nothing of count for nothing here, so that a light class does not say that a reaction was light.",
    "A reaction that has not ended has no class; it counts in the total.",
]


class ClassCounts(Struct, frozen=True, kw_only=True):
    """`counts`: class id to reactions, the lightest class first; then those without one, and why."""

    scale: str | None
    scales: list[ScaleUsed]
    counts: dict[str, int]
    rules: list[str]


async def class_counts(store: Store, seen: Sequence[SeenReaction], scale: str | None) -> ClassCounts:
    """Raises RequestError where there is no such scale; the first one is taken where none is asked for."""
    named = {one.pack for one in seen if one.pack} | {
        row.sha256 for row in await store.packs() if row.approvals
    }
    found = {sha: await tables_of(store, sha) for sha in sorted(named)}
    tables = {sha: one for sha, one in found.items() if isinstance(one, ReactionTables)}
    scales = _scales(list(tables.values()))
    chosen = scale or (scales[0].id if scales else None)
    if chosen is not None and chosen not in {one.id for one in scales}:
        known = ", ".join(one.id for one in scales) or "none"
        raise RequestError(400, "invalid", "scale", f"there is no scale {chosen}; there are: {known}")
    counts = Counter(class_of(one, tables.get(one.pack or ""), chosen) for one in seen)
    order = [key for one in scales if one.id == chosen for key in one.classes]
    return ClassCounts(
        scale=chosen,
        scales=scales,
        counts={
            key: counts[key] for key in [*order, UNPLACED, NO_TABLE, RUNNING] if key in order or counts[key]
        },
        rules=RULES,
    )


def class_of(one: SeenReaction, tables: ReactionTables | None, scale: str | None) -> str:
    if not one.seen.ended:
        return RUNNING
    if tables is None:
        return NO_TABLE
    signs = ever_seen(tables, [(sign, True) for sign in one.seen.signs], [one.seen.lowest])
    for classed in classes_of(tables, signs, closed=True):
        if classed.scale == scale:
            return classed.class_id or UNPLACED
    return NO_TABLE


def _scales(tables: Sequence[ReactionTables]) -> list[ScaleUsed]:
    found: dict[str, list[Scale]] = {}
    for one in tables:
        for scale in one.scales:
            found.setdefault(scale.id, []).append(scale)
    return [
        ScaleUsed(
            id=name,
            name=used[-1].name,
            versions=sorted({scale.version for scale in used}),
            classes={one.id: one.name for scale in used for one in scale.classes},
        )
        for name, used in found.items()
    ]
