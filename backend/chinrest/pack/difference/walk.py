"""Two trees of plain values (from JSON) side by side: each place where they differ, and none left out."""

import difflib
import json
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Literal, NamedTuple

Kind = Literal["added", "removed", "changed", "moved"]
Path = tuple[str, ...]
"""Keys; an entry of a list stands in square brackets, by its id or by what it is known by."""

KNOWN_BY: dict[str, tuple[str, ...]] = {
    "contacts": ("site", "name"),
    "rules": ("happened",),
    "rows": ("optic", "landmark"),
    "patterns": ("optic", "region", "id", "classes"),
    "sweeps": ("optic", "classes"),
    "optic_choices": ("region", "classes"),
}
"""What an entry of these lists is known by, where it has no id or its id alone is not enough."""


class Place(NamedTuple):
    """One difference. `was` and `now` are the plain values; None for what is not there on that side, which
    `kind` tells apart from a null. For `moved` they are the path names of what it stood and stands after,
    empty for the first."""

    kind: Kind
    path: Path
    was: Any
    now: Any


def places(was: Any, now: Any, path: Path = ()) -> Iterator[Place]:
    """Every place where the two differ, in the order of the newer."""
    if was == now and type(was) is type(now):
        return
    if isinstance(was, dict) and isinstance(now, dict):
        yield from _tables(was, now, path)
    elif isinstance(was, list) and isinstance(now, list):
        yield from _lists(was, now, path)
    elif was != now:
        yield Place("changed", path, was, now)


def _tables(was: dict[str, Any], now: dict[str, Any], path: Path) -> Iterator[Place]:
    for key in [*now, *(key for key in was if key not in now)]:
        if key not in was:
            yield Place("added", (*path, key), None, now[key])
        elif key not in now:
            yield Place("removed", (*path, key), was[key], None)
        else:
            yield from places(was[key], now[key], (*path, key))


def _lists(was: list[Any], now: list[Any], path: Path) -> Iterator[Place]:
    both = [*was, *now]
    if all(isinstance(entry, dict) for entry in both):
        yield from _entries(was, now, path)
    elif all(isinstance(entry, str) for entry in both):
        yield from _lines(was, now, path)
    else:
        yield Place("changed", path, was, now)


def _entries(was: list[dict[str, Any]], now: list[dict[str, Any]], path: Path) -> Iterator[Place]:
    name = _namer(path, was, now)
    before, after = _named(was, name), _named(now, name)
    for key, entry in after.items():
        if key not in before:
            yield Place("added", (*path, f"[{key}]"), None, entry)
        else:
            yield from places(before[key], entry, (*path, f"[{key}]"))
    for key, entry in before.items():
        if key not in after:
            yield Place("removed", (*path, f"[{key}]"), entry, None)
    yield from _moves([key for key in before if key in after], [key for key in after if key in before], path)


def _moves(before: Sequence[str], after: Sequence[str], path: Path) -> Iterator[Place]:
    """The fewest entries whose moving makes one order out of the other."""
    place = {key: i for i, key in enumerate(before)}
    stay = set(_longest_rising([place[key] for key in after]))
    for i, key in enumerate(after):
        if place[key] not in stay:
            stood = place[key]
            yield Place(
                "moved",
                (*path, f"[{key}]"),
                f"[{before[stood - 1]}]" if stood else "",
                f"[{after[i - 1]}]" if i else "",
            )


def _longest_rising(numbers: Sequence[int]) -> list[int]:
    best: list[tuple[int, int]] = []  # (length, place before) for each
    for i, number in enumerate(numbers):
        length, before = max(((best[j][0] + 1, j) for j in range(i) if numbers[j] < number), default=(1, -1))
        best.append((length, before))
    at = max(range(len(best)), key=lambda i: best[i][0], default=-1)
    found = []
    while at >= 0:
        found.append(numbers[at])
        at = best[at][1]
    return found[::-1]


Namer = Callable[[dict[str, Any]], str]


def _namer(path: Path, was: list[dict[str, Any]], now: list[dict[str, Any]]) -> Namer | None:
    """How entries of this list are told apart; None where nothing does, and their place must."""
    for keys in (KNOWN_BY.get(path[-1] if path else "", ("id",)), ("id",)):
        if all(key in entry for entry in (*was, *now) for key in keys):

            def name(entry: dict[str, Any], keys: tuple[str, ...] = keys) -> str:
                return ", ".join(text for text in (_plain(entry[key]) for key in keys) if text)

            if all(len({name(entry) for entry in side}) == len(side) for side in (was, now)):
                return name
    return None


def _named(entries: list[dict[str, Any]], name: Namer | None) -> dict[str, dict[str, Any]]:
    return {(name(entry) if name else f"#{i + 1}"): entry for i, entry in enumerate(entries)}


def _plain(value: Any) -> str:
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return " ".join(value)
    return value if isinstance(value, str) else json.dumps(value)


def _lines(was: list[str], now: list[str], path: Path) -> Iterator[Place]:
    """Lists of sentences and ids: line by line, so that one word does not make the whole list new."""
    for kind, i, j, k, m in difflib.SequenceMatcher(a=was, b=now, autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        for n in range(max(j - i, m - k)):
            at = (*path, f"[#{(k if k + n < m else i) + n + 1}]")
            if i + n < j and k + n < m:
                yield Place("changed", at, was[i + n], now[k + n])
            elif k + n < m:
                yield Place("added", at, None, now[k + n])
            else:
                yield Place("removed", at, was[i + n], None)
