"""Connections to a database: the embedded one (SQLite, a file), or PostgreSQL (a server), chosen by where
it is."""

from pathlib import Path

from chinrest.store.engines.base import Engine
from chinrest.store.engines.changes import ChangeKind, Hearing, note_change
from chinrest.store.engines.inserting import insert_rows
from chinrest.store.engines.one_trip import kept_brief
from chinrest.store.engines.partitions import make_room, note_erased, standing_ids
from chinrest.store.faults import StoreError

Place = Path | str
"""A file, or an address such as postgresql://user@host/name."""

POSTGRESQL = ("postgresql://", "postgres://")


def is_postgresql(place: Place) -> bool:
    return isinstance(place, str) and place.startswith(POSTGRESQL)


def open_engine(place: Place) -> Engine:
    """The engine for a place. Nothing is connected yet. Fault: file."""
    if is_postgresql(place):
        try:
            from chinrest.store.engines.postgres import PostgresEngine
        except ImportError as error:
            why = "PostgreSQL needs its driver: pip install 'chinrest[postgresql]'"
            raise StoreError("file", "database", why) from error
        return PostgresEngine(str(place))
    from chinrest.store.engines.sqlite import SqliteEngine

    return SqliteEngine(Path(place))


__all__ = [
    "ChangeKind",
    "Engine",
    "Hearing",
    "Place",
    "insert_rows",
    "is_postgresql",
    "kept_brief",
    "make_room",
    "note_change",
    "note_erased",
    "open_engine",
    "standing_ids",
]
