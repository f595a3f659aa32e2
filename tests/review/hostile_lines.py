"""A line of every kind that a phone may write, with markup in every field that is text."""

from collections.abc import Iterator
from typing import Any

import msgspec

from chinrest.log.case_events import LineAmended
from chinrest.log.registry import BODY_TYPES, SERVER_TYPES

MARK = "HOSTILE"
SHORT = f"{MARK}<img src=x onerror=ran=1>"
NASTY = (
    f'{MARK}"\'><img src=x onerror="window.ran=1"><script>window.ran=1</script><svg onload=window.ran=1>'
    '<a href="javascript:window.ran=1">x</a>{{constructor.constructor("ran=1")()}}${ran=1}'
)
LINK = f"javascript:window.ran='{MARK}'"


def value_of(kind: msgspec.inspect.Type) -> Any:
    """A value of this kind; where it is free text, markup."""
    i = msgspec.inspect
    if isinstance(kind, i.UnionType):
        ranked = sorted(kind.types, key=lambda one: (isinstance(one, i.NoneType), not _has_text(one)))
        return value_of(ranked[0])
    if isinstance(kind, i.StrType | i.AnyType):
        return NASTY
    if isinstance(kind, i.LiteralType):
        return kind.values[0]
    if isinstance(kind, i.ListType):
        return [value_of(kind.item_type), *([LINK] if isinstance(kind.item_type, i.StrType) else [])]
    if isinstance(kind, i.TupleType):
        return [value_of(one) for one in kind.item_types]
    if isinstance(kind, i.VarTupleType):
        return [value_of(kind.item_type)]
    if isinstance(kind, i.DictType):
        return {NASTY: value_of(kind.value_type)}
    if isinstance(kind, i.StructType):
        return {field.encode_name: value_of(field.type) for field in kind.fields}
    table: list[tuple[type[msgspec.inspect.Type], Any]] = [
        (i.BoolType, True),
        (i.IntType, 2),
        (i.FloatType, 2.5),
        (i.NoneType, None),
    ]
    for known, value in table:
        if isinstance(kind, known):
            return value
    raise AssertionError(f"no value is known for {kind}: add it here")


def _has_text(kind: msgspec.inspect.Type) -> bool:
    return isinstance(kind, msgspec.inspect.StrType)


def bodies() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every type that is a phone's to write about a case, the case's beginning first and its end last."""
    last = ["reaction.ended", "watch.ended", "case.handed_over", "case.closed"]
    order = sorted(
        BODY_TYPES, key=lambda name: (name != "case.opened", name in last and last.index(name) + 1)
    )
    for name in order:
        cls = BODY_TYPES[name]
        if name in SERVER_TYPES or cls is LineAmended or name.startswith(("device.", "pack.")):
            continue
        info = msgspec.inspect.type_info(cls)
        assert isinstance(info, msgspec.inspect.StructType)
        yield name, {field.name: value_of(field.type) for field in info.fields if field.name != "salt"}
