"""What a handler may reach: the open store, the settings, and who is asking."""

import time
from typing import Any

from litestar import Request
from litestar.connection import ASGIConnection
from litestar.datastructures import State

from chinrest.server.scope import scope_of
from chinrest.server.settings import Settings
from chinrest.server.tries import Tries
from chinrest.store import Store
from chinrest.store.rows import DeviceRecord, Staff

Call = Request[Any, Any, State]
Connection = ASGIConnection[Any, Any, Any, State]


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def store_of(connection: Connection) -> Store:
    """The store as whoever is signed in may see and change it."""
    store: Store = connection.app.state.store
    return store.within(scope_of(connection))


def settings_of(connection: Connection) -> Settings:
    settings: Settings = connection.app.state.settings
    return settings


def tries_of(connection: Connection, what: str) -> Tries:
    tries: Tries = connection.app.state.tries[what]
    return tries


def address_of(connection: Connection) -> str:
    return connection.client.host if connection.client else "unknown"


def origin_of(connection: Connection) -> str:
    """The address that people type: as told at the start, else as this request used it."""
    return settings_of(connection).origin or f"{connection.base_url}".rstrip("/")


def device_of(call: Call) -> DeviceRecord:
    """Whose token this is; only where a guard of phones stands."""
    device: DeviceRecord = call.scope["state"]["device"]
    return device


def staff_of(call: Call) -> Staff:
    """Whose session this is; only where a guard of people stands."""
    staff: Staff = call.scope["state"]["staff"]
    return staff
