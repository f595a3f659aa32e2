"""A PostgreSQL server of its own for one run of the tests, from Debian's package."""

import os
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

USER = "chinrest"


class NoServerError(Exception):
    """There is no PostgreSQL on this machine."""


def binaries() -> Path:
    """Debian's newest, which are not on PATH, or those on PATH."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    if on_path is None:
        raise NoServerError("no initdb under /usr/lib/postgresql or on PATH")
    return Path(on_path).parent


def _as_user(arguments: list[str | Path]) -> list[str | Path]:
    """PostgreSQL refuses to run as root: then as the user that Debian's package made for it."""
    return ["runuser", "-u", "postgres", "--", *arguments] if os.geteuid() == 0 else arguments


class Postgres:
    """Its files are not forced to the disk: no test here is of a power cut. By its own settings it
    acknowledges before it has written: the store must insist. `durable`: both as on a real day."""

    def __init__(self, *, durable: bool = False) -> None:
        self._hasty = "" if durable else " -c fsync=off -c synchronous_commit=off"
        self._bin = binaries()
        self._folder = tempfile.TemporaryDirectory(prefix="chinrest-pg-")
        self.home = Path(self._folder.name)
        if os.geteuid() == 0:
            shutil.chown(self.home, "postgres", "postgres")
        self._data = self.home / "data"
        self._count = 0

    def start(self) -> "Postgres":
        if not self._data.exists():
            making = ["initdb", "-D", self._data, "-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C"]
            subprocess.run(_as_user([self._bin / making[0], *making[1:]]), check=True, capture_output=True)
        options = f"-k {self.home} -c listen_addresses=''{self._hasty}"
        self._control("start", "-w", "-l", self.home / "log", "-o", options)
        return self

    def _control(self, what: str, *arguments: str | Path) -> None:
        subprocess.run(
            _as_user([self._bin / "pg_ctl", what, "-D", self._data, *arguments]),
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    @property
    def tables(self) -> Path:
        """Where every database has a folder, named by its number, with a file or more for each table."""
        return self._data / "base"

    def restart(self) -> None:
        """As on a bad day: every connection is cut."""
        self._control("stop", "-m", "immediate")
        self.start()

    def stop(self) -> None:
        self._control("stop", "-m", "immediate")
        time.sleep(0.1)
        self._folder.cleanup()

    def address(self, name: str) -> str:
        return f"postgresql://{USER}@/{name}?host={self.home}"

    def fresh(self) -> str:
        """The address of a new, empty database."""
        self._count += 1
        name = f"test_{os.getpid()}_{self._count}"
        subprocess.run(
            [self._bin / "createdb", "-h", self.home, "-U", USER, name], check=True, capture_output=True
        )
        return self.address(name)
