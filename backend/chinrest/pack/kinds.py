"""Is a plain value (from TOML or JSON) of the kind that a structure asks for? Every fault is found."""

import math
from collections.abc import Iterator
from functools import cache
from typing import Any

from msgspec import inspect

Found = Iterator[tuple[str, str]]
"""(key path, reason)"""

LARGEST_WHOLE = 2**53
"""Beyond it a phone's numbers no longer hold every whole one."""

_WORDS = {
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    str: "text",
    list: "a list",
    dict: "a table",
}


@cache
def _info(kind: Any) -> inspect.Type:
    return inspect.type_info(kind)


def faults_of_kind(value: object, kind: Any, key: str) -> Found:
    """Yields (key, reason) wherever `value` is not of `kind` (a structure, or a type within one)."""
    yield from _faults(value, _info(kind), key)


def join(key: str, name: str) -> str:
    return f"{key}.{name}" if key else name


def name_of(index: int, value: object) -> str:
    """How an entry of a list is named in a key path: by its id where it has one, else by its place from 1."""
    named = value.get("id") if isinstance(value, dict) else None
    return f"[{named}]" if isinstance(named, str) and named else f"[#{index + 1}]"


def _said(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _wanted(value: object, word: str) -> str:
    return f"is {_WORDS.get(type(value), type(value).__name__)} ({_said(value)}); must be {word}"


def _faults(value: object, info: inspect.Type, key: str) -> Found:
    match info:
        case inspect.StructType():
            yield from _struct_faults(value, info, key)
        case inspect.ListType():
            if not isinstance(value, list):
                yield key, _wanted(value, "a list")
            else:
                for i, item in enumerate(value):
                    yield from _faults(item, info.item_type, key + name_of(i, item))
        case inspect.TupleType():
            if not isinstance(value, list) or len(value) != len(info.item_types):
                yield key, _wanted(value, f"a list of {len(info.item_types)}")
            else:
                for i, (item, item_type) in enumerate(zip(value, info.item_types, strict=True)):
                    yield from _faults(item, item_type, key + name_of(i, item))
        case inspect.DictType():
            if not isinstance(value, dict):
                yield key, _wanted(value, "a table")
            else:
                for name, item in value.items():
                    yield from ((join(key, name), reason) for _, reason in _faults(name, info.key_type, name))
                    yield from _faults(item, info.value_type, join(key, name))
        case inspect.LiteralType():
            if value not in info.values:
                yield key, f"is {_said(value)}; must be one of {', '.join(str(v) for v in info.values)}"
        case inspect.UnionType():
            yield from _union_faults(value, info, key)
        case _:
            reason = _leaf_reason(value, info)
            if reason:
                yield key, reason


def _struct_faults(value: object, info: inspect.StructType, key: str) -> Found:
    if not isinstance(value, dict):
        yield key, _wanted(value, "a table")
        return
    fields = {field.encode_name: field for field in info.fields}
    for name in value:
        if name not in fields:
            yield join(key, name), f"unknown key; known here: {', '.join(sorted(fields))}"
    for name, field in fields.items():
        if name in value:
            yield from _faults(value[name], field.type, join(key, name))
        elif field.required:
            yield join(key, name), "is missing"


def _union_faults(value: object, info: inspect.UnionType, key: str) -> Found:
    found = [list(_faults(value, option, key)) for option in info.types]
    if all(found):
        yield key, " or ".join(faults[0][1] for faults in found)


def _leaf_reason(value: object, info: inspect.Type) -> str | None:
    """Why a single value does not fit, None when it does. A whole number is a number; true is not."""
    match info:
        case inspect.StrType():
            return None if isinstance(value, str) else _wanted(value, "text")
        case inspect.BoolType():
            return None if isinstance(value, bool) else _wanted(value, "true or false")
        case inspect.IntType():
            if isinstance(value, bool) or not isinstance(value, int):
                return _wanted(value, "a whole number")
            return None if abs(value) <= LARGEST_WHOLE else f"is {_said(value)}; is too large"
        case inspect.FloatType():
            if isinstance(value, bool) or not isinstance(value, int | float):
                return _wanted(value, "a number")
            if isinstance(value, int):
                return None if abs(value) <= LARGEST_WHOLE else f"is {_said(value)}; is too large"
            return None if math.isfinite(value) else f"is {value}; must be a finite number"
        case inspect.NoneType():
            return None if value is None else _wanted(value, "nothing")
    raise TypeError(f"a pack's structures hold no {info}")
