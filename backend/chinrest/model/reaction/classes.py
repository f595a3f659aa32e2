"""After a reaction is closed: its class on each named scale, from the versioned table. Never stored, always
derived.

The scales disagree with each other, so that none is mapped onto another and no class stands without its
scale.
"""

from collections.abc import Iterable

from msgspec import Struct

from .tables import ReactionTables, Scale


class Classed(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One scale's class: that of its heaviest placed sign. `class_id` and `class_name` None: no sign is
    placed in it.

    `by`: the signs that put it there; `not_placed`: signs seen of which this scale's source says nothing, so
    that a light class is never read as if they had been weighed.
    """

    scale: str
    scale_name: str
    version: str
    class_id: str | None
    class_name: str | None
    by: list[str]
    not_placed: list[str]


class StillOpenError(ValueError):
    """A class was asked for while the reaction runs."""


def classes_of(tables: ReactionTables, seen: Iterable[str], *, closed: bool) -> list[Classed]:
    """The class on each scale, in the pack's order. Raises StillOpenError before the reaction is closed."""
    if not closed:
        raise StillOpenError("no class is derived while a reaction runs")
    signs = sorted(set(seen))
    return [_classed(scale, signs) for scale in tables.scales]


def _classed(scale: Scale, signs: list[str]) -> Classed:
    order = [one.id for one in scale.classes]
    placed = [sign for sign in signs if sign in scale.places]
    heaviest = max((order.index(scale.places[sign]) for sign in placed), default=None)
    found = None if heaviest is None else scale.classes[heaviest]
    return Classed(
        scale=scale.id,
        scale_name=scale.name,
        version=scale.version,
        class_id=found.id if found else None,
        class_name=found.name if found else None,
        by=[sign for sign in placed if found and scale.places[sign] == found.id],
        not_placed=[sign for sign in signs if sign not in scale.places],
    )
