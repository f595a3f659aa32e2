"""Do the tables of a reaction hold together: signs, criteria, scales, actions, observations?"""

from collections import Counter
from collections.abc import Iterator
from typing import get_args

from chinrest.model.reaction.tables import Criterion, ObservationField, Observed, Scale

from .asked_checks import unknown_dyes
from .dye_parts import DyeParts
from .faults import PackFault

FILE = "reaction.toml"
REMIND_S = (10, 3600)
GREEN = "indocyanine_green"
ACTED_ON = ("nausea", "vomiting")
"""Signs that by themselves lengthen the watch less than any other."""
Found = Iterator[tuple[str, str]]


def reaction_faults(parts: DyeParts) -> Iterator[PackFault]:
    tables = parts.reaction
    if tables is None:
        return
    found: list[tuple[str, str]] = []
    low, high = REMIND_S
    if not low <= tables.remind_s <= high:
        found.append(("remind_s", f"is {tables.remind_s}; must lie from {low} to {high}"))
    for key in ("remind_text", "caution", "escalation"):
        if not getattr(tables, key).strip():
            found.append((key, "is empty"))
    for key in ("signs", "criteria", "actions", "scales"):
        if not parts.names(key):
            why = "; a class is never given without a named scale" if key == "scales" else ""
            found.append((key, f"is empty{why}"))
    for kind, entries in (("signs", tables.signs), ("actions", tables.actions)):
        found += [(f"{kind}[{one.id}].text", "is empty") for one in entries if not one.text.strip()]
    signs, dyes = parts.names("signs"), parts.names("dyes")
    for criterion in tables.criteria:
        found += [
            (f"criteria[{criterion.id}].{key}", why) for key, why in _criterion_faults(criterion, signs)
        ]
    for sign in ACTED_ON if signs else ():
        if sign not in signs:
            found.append(("signs", f"has no {sign!r}, which the phone's watch tells from other signs"))
    for scale in tables.scales:
        found += [(f"scales[{scale.id}].{key}", why) for key, why in _scale_faults(scale, signs)]
    for field in tables.observations:
        found += [(f"observations[{field.id}].{key}", why) for key, why in _field_faults(field, signs, dyes)]
    for name in get_args(Observed):
        if name not in parts.names("observations"):
            found.append(("observations", f"has no {name!r}, which the phone asks for"))
    green = [dye.id for dye in parts.dyes if dye.modality == GREEN]
    for field in tables.observations:
        for dye in green if field.id == "saturation" else []:
            if not field.dye_notes.get(dye, "").strip():
                why = (
                    f"has no {dye!r}; that dye lowers what an oximeter shows, and whoever reads it must know"
                )
                found.append((f"observations[{field.id}].dye_notes", why))
    yield from (PackFault(file=FILE, key=key, reason=reason) for key, reason in found)


def _criterion_faults(criterion: Criterion, signs: set[str]) -> Found:
    if not criterion.text.strip():
        yield "text", "is empty"
    if not criterion.source.strip():
        yield "source", "is empty"
    if not criterion.groups or not all(criterion.groups):
        yield "groups", "is empty, or has an empty group"
    if not 1 <= criterion.least <= len(criterion.groups):
        yield (
            "least",
            f"is {criterion.least}; must lie from 1 to the number of groups, {len(criterion.groups)}",
        )
    for i, group in enumerate(criterion.groups):
        for sign in group:
            if sign not in signs:
                yield f"groups[#{i + 1}]", f"names no sign: {sign!r}"


def _scale_faults(scale: Scale, signs: set[str]) -> Found:
    for key in ("name", "version", "source"):
        if not getattr(scale, key).strip():
            yield key, "is empty; a class is never given without its scale, version and source"
    classes = [one.id for one in scale.classes]
    if not classes:
        yield "classes", "is empty"
    for name, times in Counter(classes).items():
        if times > 1:
            yield f"classes[{name}].id", "is used twice; an id must be unique"
    for sign, place in scale.places.items():
        if sign not in signs:
            yield f"places.{sign}", f"names no sign: {sign!r}"
        if place not in classes:
            yield f"places.{sign}", f"names no class of this scale: {place!r}"
    for sign in scale.not_placed:
        if sign not in signs:
            yield "not_placed", f"names no sign: {sign!r}"
        if sign in scale.places:
            yield "not_placed", f"has {sign!r}, which is placed in {scale.places[sign]!r}"
    for sign in sorted(signs - set(scale.places) - set(scale.not_placed)):
        yield (
            "places",
            f"has no {sign!r}; place it, or list it in not_placed where the source says nothing of it",
        )


def _field_faults(field: ObservationField, signs: set[str], dyes: set[str]) -> Found:
    if not field.text.strip():
        yield "text", "is empty"
    if not field.least <= field.ask_below <= field.ask_above <= field.most:
        yield "ask_below", "must lie as least <= ask_below <= ask_above <= most"
    if (field.sign_below is None) != (field.sign == ""):
        yield "sign_below", "stands without sign, or sign without it"
    if field.sign_below is not None and not field.least < field.sign_below <= field.most:
        yield "sign_below", f"is {field.sign_below}; must lie within least and most"
    if field.sign and field.sign not in signs:
        yield "sign", f"names no sign: {field.sign!r}"
    yield from (("dye_notes", reason) for reason in unknown_dyes(list(field.dye_notes), dyes))
