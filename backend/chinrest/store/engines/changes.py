"""That something changed, of what kind and at which site: never what, and nothing of a patient.

Whoever changes a kind of thing notes it on the writing connection; the engine tells those who hear once it is
committed.
"""

import asyncio
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Literal, NamedTuple, get_args
from urllib.parse import quote, unquote

from sqlalchemy.ext.asyncio import AsyncConnection

ChangeKind = Literal["lines", "reviews", "devices", "packs", "sessions"]
"""lines: what phones wrote, and what is folded from it. reviews: what the desk decided. devices: phones and
hubs. packs: guidance that came, was approved or recalled. sessions: somebody's sign-in ended."""

KINDS: frozenset[ChangeKind] = frozenset(get_args(ChangeKind))
ANY = ""
"""In the place of a site (none is so called): at some sites or other, so that everybody is told."""
LONGEST_TEXT = 7000
"""PostgreSQL tells at most 7,999 bytes at once (its manual, NOTIFY)."""


class Change(NamedTuple):
    """`site`: where; null for what belongs to no site, as a hub does."""

    kind: ChangeKind
    site: str | None


EVERYTHING = frozenset(Change(kind, ANY) for kind in KINDS)
NOTED = "chinrest changes"


def note_change(connection: AsyncConnection, kind: ChangeKind, site: str | None = None) -> None:
    """For use within a write: told to all who hear of that site when it is committed, and to nobody when it
    is undone."""
    connection.info.setdefault(NOTED, set()).add(Change(kind, site))


def begin_noting(connection: AsyncConnection) -> None:
    """What an undone write had noted on this connection is forgotten."""
    connection.info.pop(NOTED, None)


def noted(connection: AsyncConnection) -> frozenset[Change]:
    return frozenset(connection.info.pop(NOTED, ()))


def as_text(changes: Iterable[Change]) -> str:
    """Words: a kind, with its site after a slash. Of too many sites, only that there were some."""
    told = frozenset(changes)
    text = " ".join(sorted(_word(change) for change in told))
    if len(text) <= LONGEST_TEXT:
        return text
    return " ".join(sorted({_word(Change(change.kind, ANY)) for change in told}))


def _word(change: Change) -> str:
    if change.site is None:
        return change.kind
    return f"{change.kind}/{quote(change.site, safe='')}"


def from_text(text: str) -> frozenset[Change]:
    """What `as_text` wrote. Kinds that a newer server tells of are passed over."""
    found = set()
    for word in text.split():
        kind, slash, site = word.partition("/")
        if kind in KINDS:
            found.add(Change(kind, unquote(site) if slash else None))
    return frozenset(found)


class Hearing:
    """One who hears, of one site or (null) of all. What is told while they are busy waits for them, each kind
    once: memory never grows."""

    def __init__(self, site: str | None) -> None:
        self._site = site
        self._waiting: set[ChangeKind] = set()
        self._told = asyncio.Event()

    def tell(self, changes: Iterable[Change]) -> None:
        kinds = {change.kind for change in changes if self._concerns(change)}
        if kinds:
            self._waiting.update(kinds)
            self._told.set()

    def _concerns(self, change: Change) -> bool:
        return self._site is None or change.kind == "sessions" or change.site in (self._site, ANY)

    def hurry(self) -> None:
        """`next` returns at once, though nothing may have changed."""
        self._told.set()

    async def next(self, within_s: float) -> frozenset[ChangeKind]:
        """Kinds that changed since the last call; empty where none did in this time."""
        try:
            await asyncio.wait_for(self._told.wait(), max(within_s, 0.0))
        except TimeoutError:
            return frozenset()
        self._told.clear()
        told, self._waiting = frozenset(self._waiting), set()
        return told


class Bell:
    """Tells all who hear in this process."""

    def __init__(self) -> None:
        self._hearing: set[Hearing] = set()

    @contextmanager
    def hear(self, site: str | None) -> Iterator[Hearing]:
        hearing = Hearing(site)
        self._hearing.add(hearing)
        try:
            yield hearing
        finally:
            self._hearing.discard(hearing)

    def ring(self, changes: Iterable[Change]) -> None:
        told = frozenset(changes)
        if told:
            for hearing in self._hearing:
                hearing.tell(told)
