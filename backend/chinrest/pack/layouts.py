"""The layouts that a pack carries: each protocol with each optic that takes its dyes, one eye and two, for
every kind of face whose plans differ."""

from collections.abc import Mapping, Sequence
from typing import get_args

from msgspec import structs

from chinrest.model.optic import Optic
from chinrest.model.series.ask import FieldsOf
from chinrest.model.series.lay import lay, layout_id
from chinrest.model.series.layout import Layout
from chinrest.model.series.pace import Pace
from chinrest.model.series.protocol import Eyes, Protocol
from chinrest.model.series.remedies import with_remedies

from .plan_cache import PlanCache
from .planned import USUAL_CLASS, PackPlan, ReachClass
from .plans import reach_classes, usual_plans
from .schema import Pack
from .series_fields import OpticFields, class_fields
from .source import Source

RULES = 3
"""Number of the way in which layouts are made: raised with every change of it, so the cache is remade."""
FACE = "Head turns are those of a usual face. One that needs others takes more or fewer seconds."


def takes(optic: Optic, protocol: Protocol) -> bool:
    """Whether an optic can take every dye of a protocol."""
    return all(injection.dye in optic.modalities for injection in protocol.dyes)


def layout_of(
    protocol: Protocol,
    optic: str,
    eyes: Eyes,
    fields: Mapping[str, OpticFields],
    pace: Pace,
    cache: PlanCache,
) -> Layout:
    """One layout, with what would make it fit where something is missed. `fields`: of every optic that takes
    the protocol's dyes."""
    asked = {each: {window.id: own(window) for window in protocol.windows} for each, own in fields.items()}
    notes = [note for window in protocol.windows for note in fields[optic].notes(window)]

    def fields_of(each: str) -> FieldsOf:
        return lambda window: asked[each][window.id]

    def made() -> Layout:
        others = {other: fields_of(other) for other in asked if other != optic}
        laid = lay(protocol, optic, eyes, fields_of(optic), pace)
        return with_remedies(laid, protocol, fields_of(optic), others, pace)

    follows = {
        "layout": RULES,
        "protocol": protocol,
        "optic": optic,
        "eyes": eyes,
        "fields": asked,
        "pace": pace,
    }
    laid = cache.get(follows, Layout, made, f"series, {protocol.id}, {optic}, {eyes}")
    return structs.replace(laid, notes=[*dict.fromkeys(notes), FACE])


def layouts(source: Source, plans: Sequence[PackPlan], cache: PlanCache) -> list[Layout]:
    """All that a phone may follow. Eyes are told apart as study and fellow, so one layout serves either. The
    first of a protocol, optic and number of eyes is that of the reference adult."""
    classes = sorted(reach_classes(), key=lambda each: each.id != USUAL_CLASS)
    fields = {each.id: class_fields(source, plans, each) for each in classes}
    found: list[Layout] = []
    for protocol in source.protocols:
        able = [optic.id for optic in source.optics if takes(optic, protocol)]
        for optic in able:
            kinds = _kinds(protocol, optic, fields, classes)
            for eyes in get_args(Eyes):
                for number, kind in enumerate(kinds):
                    own = {each: fields[kind[0].id][each] for each in able}
                    laid = layout_of(protocol, optic, eyes, own, source.pace, cache)
                    found.append(
                        structs.replace(
                            laid,
                            id=laid.id if not number else f"{laid.id}:{number + 1}",
                            classes=[each.id for each in kind] if len(kinds) > 1 else [],
                        )
                    )
    return found


def _kinds(
    protocol: Protocol,
    optic: str,
    fields: Mapping[str, Mapping[str, OpticFields]],
    classes: Sequence[ReachClass],
) -> list[list[ReachClass]]:
    """Classes for which the eye looks at the same places with the same turns, together."""
    kinds: dict[str, list[ReachClass]] = {}
    for each in classes:
        own = fields[each.id]
        asked = [field for window in protocol.windows for field in own[optic](window)]
        same = repr([(field.id, field.h, field.v, field.turn) for field in asked])
        kinds.setdefault(same, []).append(each)
    return list(kinds.values())


def guidance_layout(
    guidance: Source | Pack, protocol: str, optic: str, eyes: Eyes, cache: PlanCache
) -> Layout:
    """The reference adult's layout, of a compiled pack or laid from a source. Raises KeyError for ids that
    are not in it."""
    if isinstance(guidance, Pack):
        name = layout_id(protocol, optic, eyes)
        return {layout.id: layout for layout in guidance.layouts}[name]
    followed = {known.id: known for known in guidance.protocols}[protocol]
    plans = usual_plans(guidance, cache, {window.region for window in followed.windows})
    usual = next(each for each in reach_classes() if each.id == USUAL_CLASS)
    able = {known.id for known in guidance.optics if takes(known, followed)}
    fields = {name: own for name, own in class_fields(guidance, plans, usual).items() if name in able}
    return layout_of(followed, optic, eyes, fields, guidance.pace, cache)
