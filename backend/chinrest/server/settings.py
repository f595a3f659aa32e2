"""What one running server is told when it starts."""

from pathlib import Path
from typing import Literal

from msgspec import Struct

DATABASE = "chinrest.db"


class Settings(Struct, frozen=True, kw_only=True):
    """`data` is the folder of everything kept. `origin` is the address that people use, without a slash at
    its end; null where only the request knows it. `tls` makes cookies secure-only. `authority` is the
    certificate (DER) of the hub's own authority, where it has one."""

    data: Path
    origin: str | None = None
    tls: bool = False
    demo: bool = False
    kind: Literal["final", "hub"] = "final"
    authority: bytes | None = None

    @property
    def database(self) -> Path:
        return self.data / DATABASE
