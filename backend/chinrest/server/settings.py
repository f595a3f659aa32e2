"""What one running server is told when it starts."""

import os
from pathlib import Path
from typing import Literal

from msgspec import Struct

from chinrest.store.engines import Place

DATABASE = "chinrest.db"
BACKUP_DAYS = 7
"""Common practice asks for one a day, no source; a week allows for a holiday and a broken script."""
ADDRESS = "CHINREST_DATABASE"
"""Environment variable with the address of a PostgreSQL database; without it, the file in the data folder
is used."""


def place_of(data: Path) -> Place:
    """Where the database of a data folder is."""
    return os.environ.get(ADDRESS, "").strip() or data / DATABASE


class Settings(Struct, frozen=True, kw_only=True):
    """`data` is the folder of everything kept. `origin` is the address that people use, without a slash at
    its end; null where only the request knows it. `tls` makes cookies secure-only. `authority` is the
    certificate (DER) of the hub's own authority, where it has one. `backup_days`: after so many without a
    backup the desk warns."""

    data: Path
    origin: str | None = None
    tls: bool = False
    demo: bool = False
    kind: Literal["final", "hub"] = "final"
    authority: bytes | None = None
    backup_days: int = BACKUP_DAYS

    @property
    def database(self) -> Place:
        return place_of(self.data)
