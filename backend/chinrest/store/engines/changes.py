"""That something changed, and of what kind: never what, and nothing of a patient.

Whoever changes a kind of thing notes it on the writing connection; the engine tells those who hear once it is
committed.
"""

import asyncio
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Literal, get_args

from sqlalchemy.ext.asyncio import AsyncConnection

ChangeKind = Literal["lines", "reviews", "devices", "sessions"]
"""lines: what phones wrote, and what is folded from it. reviews: what the desk decided. devices: phones and
hubs. sessions: somebody's sign-in ended."""

KINDS: frozenset[ChangeKind] = frozenset(get_args(ChangeKind))
NOTED = "chinrest changes"


def note_change(connection: AsyncConnection, kind: ChangeKind) -> None:
    """For use within a write: told to all who hear when it is committed, and to nobody when it is undone."""
    connection.info.setdefault(NOTED, set()).add(kind)


def begin_noting(connection: AsyncConnection) -> None:
    """What an undone write had noted on this connection is forgotten."""
    connection.info.pop(NOTED, None)


def noted(connection: AsyncConnection) -> frozenset[ChangeKind]:
    return frozenset(connection.info.pop(NOTED, ()))


def as_text(kinds: Iterable[ChangeKind]) -> str:
    return " ".join(sorted(kinds))


def from_text(text: str) -> frozenset[ChangeKind]:
    """What `as_text` wrote. Kinds that a newer server tells of are passed over."""
    return frozenset(word for word in text.split() if word in KINDS)


class Hearing:
    """One who hears. What is told while they are busy waits for them, each kind once: memory never grows."""

    def __init__(self) -> None:
        self._waiting: set[ChangeKind] = set()
        self._told = asyncio.Event()

    def tell(self, kinds: Iterable[ChangeKind]) -> None:
        self._waiting.update(kinds)
        self._told.set()

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
    def hear(self) -> Iterator[Hearing]:
        hearing = Hearing()
        self._hearing.add(hearing)
        try:
            yield hearing
        finally:
            self._hearing.discard(hearing)

    def ring(self, kinds: Iterable[ChangeKind]) -> None:
        told = frozenset(kinds)
        if told:
            for hearing in self._hearing:
                hearing.tell(told)
