"""One change of a draft's tables, as the desk sends it: a table replaced, added, removed or moved."""

from copy import deepcopy
from typing import Any

from chinrest.model.errors import InputError

from .forms import FORMS, Form
from .reader import Table

DEEPEST = 12
"""Levels of tables and lists in one table; the deepest that is edited here has three."""


def _deeper(value: object, levels: int) -> bool:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else None
    return inner is not None and (levels == 0 or any(_deeper(item, levels - 1) for item in inner))


def changed(
    tables: dict[str, Table],
    file: str,
    key: str,
    index: int | None,
    value: dict[str, Any] | None,
    to: int | None,
) -> tuple[dict[str, Table], str]:
    """The tables after the change, and what it was, in words. What the value holds is not judged: the check
    of the source does that, of a draft as of a folder.

    At the top of a file (`key` empty) `value` takes the table's place. In a list: `index` and `value` replace
    an entry; without `index`, `value` is added before the entry `to`, or last; without `value`, the entry
    `index` is moved to the place `to`, or removed. Raises InputError.
    """
    form = next((form for form in FORMS if form.takes(file, key)), None)
    if form is None or file not in tables:
        raise InputError("file", f"{file!r}, {key!r} is no table that is edited here")
    if _deeper(value, DEEPEST):
        raise InputError("value", f"holds tables or lists more than {DEEPEST} deep")
    made = {name: deepcopy(table) if name == file else table for name, table in tables.items()}
    if not form.key:
        if value is None:
            raise InputError("value", "give the table")
        made[file] = {**value, **{name: made[file][name] for name in form.kept if name in made[file]}}
        return made, f"{_about(form, file)}: changed"
    entries = made[file].get(key)
    if not isinstance(entries, list):
        raise InputError("file", f"{key} of {file} is no list")
    return made, f"{form.title}, {_in_list(entries, index, value, to)}"


def _about(form: Form, file: str) -> str:
    inside = file.removeprefix(form.file).removesuffix(".toml") if form.file.endswith("/") else ""
    return f"{form.title}, {inside}" if inside else form.title


def _in_list(entries: list[Any], index: int | None, value: dict[str, Any] | None, to: int | None) -> str:
    if to is not None and not 0 <= to <= len(entries):
        raise InputError("to", f"is {to}; there are {len(entries)} entries")
    if index is None:
        if value is None:
            raise InputError("value", "give the entry to add")
        entries.insert(len(entries) if to is None else to, value)
        return f"{_name(value)}: added"
    if not 0 <= index < len(entries):
        raise InputError("index", f"is {index}; there are {len(entries)} entries")
    if value is not None:
        entries[index] = value
        return f"{_name(value)}: changed"
    entry = entries.pop(index)
    if to is None:
        return f"{_name(entry)}: removed"
    entries.insert(to, entry)
    return f"{_name(entry)}: moved"


def _name(entry: Any) -> str:
    named = entry.get("id") if isinstance(entry, dict) else None
    return str(named)[:60] if named else "one without an id"
