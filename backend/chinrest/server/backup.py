"""A backup of everything that a server keeps: the database and its certificates, in one file that says its
hashes.

The file is a tar archive: `backup.json` first, then what it lists. It holds the server's private keys.
"""

import io
import json
import os
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path, PurePosixPath

import msgspec
from msgspec import Struct

import chinrest
from chinrest.server.settings import DATABASE
from chinrest.store.rows import Identity

LIST = "backup.json"
LIST_LIMIT_BYTES = 1024 * 1024
PRIVATE = 0o600
CERTIFICATES = "tls"


class BackupError(Exception):
    """A backup cannot be made, or is not what it says; the text says what and why."""


class Held(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    name: str
    bytes: int
    sha256: str


class Contents(Struct, frozen=True, kw_only=True):
    """What a backup says of itself. `position`: the last log position that is in it."""

    format: int
    app: str
    made_at: int
    server: str
    epoch: str
    position: int
    files: list[Held]


FORMAT = 1


def digest_of(path: Path) -> str:
    with path.open("rb") as file:
        whole = sha256()
        while part := file.read(1 << 20):
            whole.update(part)
    return whole.hexdigest()


def pack(folder: Path, database: Path, target: Path, who: Identity, position: int, now: int) -> Contents:
    """Put a copy of the database and the folder's certificates into `target`, and read it back.

    Raises FileExistsError where `target` is there already, BackupError where it does not read back.
    """
    files = {DATABASE: database}
    certificates = folder / CERTIFICATES
    if certificates.is_dir():
        files |= {f"{CERTIFICATES}/{path.name}": path for path in sorted(certificates.iterdir())}
    held = [
        Held(name=name, bytes=path.stat().st_size, sha256=digest_of(path)) for name, path in files.items()
    ]
    contents = Contents(
        format=FORMAT,
        app=chinrest.__version__,
        made_at=now,
        server=who.server,
        epoch=who.epoch,
        position=position,
        files=held,
    )
    part = target.with_name(target.name + ".part")
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE)
    try:
        with os.fdopen(descriptor, "wb") as out:
            with tarfile.open(fileobj=out, mode="w") as archive:
                said = json.dumps(msgspec.to_builtins(contents), indent=1).encode()
                archive.addfile(_entry(LIST, len(said), now), io.BytesIO(said))
                for name, path in files.items():
                    with path.open("rb") as file:
                        archive.addfile(_entry(name, path.stat().st_size, now), file)
            out.flush()
            os.fsync(out.fileno())
        check(part)
        os.link(part, target)  # unlike a rename, this never writes over what is there
    finally:
        part.unlink()
    return contents


def _entry(name: str, size: int, now: int) -> tarfile.TarInfo:
    entry = tarfile.TarInfo(name)
    entry.size, entry.mtime, entry.mode = size, now // 1000, PRIVATE
    return entry


def check(backup: Path) -> Contents:
    """Read a backup whole: every file that it lists is there with its hash, and no other. Raises
    BackupError."""
    with _opened(backup) as (contents, archive):
        for held, file in _files(contents, archive):
            whole = sha256()
            while part := file.read(1 << 20):
                whole.update(part)
            if whole.hexdigest() != held.sha256:
                raise BackupError(f"{backup}: {held.name} is not what was backed up: its hash differs")
    return contents


def unpack(backup: Path, folder: Path) -> Contents:
    """Put a checked backup's files into an empty folder. Raises BackupError."""
    contents = check(backup)
    with _opened(backup) as (_, archive):
        for held, file in _files(contents, archive):
            target = folder / held.name
            target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            descriptor = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE)
            with os.fdopen(descriptor, "wb") as out:
                while part := file.read(1 << 20):
                    out.write(part)
                os.fsync(out.fileno())
    return contents


@contextmanager
def _opened(backup: Path) -> Iterator[tuple[Contents, tarfile.TarFile]]:
    try:
        with tarfile.open(backup, mode="r:") as archive:
            first = archive.next()
            if first is None or first.name != LIST or not first.isreg() or first.size > LIST_LIMIT_BYTES:
                raise BackupError(f"{backup}: it is no backup of this program: it does not begin with {LIST}")
            file = archive.extractfile(first)
            contents = msgspec.json.decode(file.read() if file else b"", type=Contents)
            if contents.format != FORMAT:
                raise BackupError(
                    f"{backup}: format {contents.format} is not known here; it needs a newer version"
                )
            yield contents, archive
    except (tarfile.TarError, msgspec.MsgspecError, EOFError) as error:
        raise BackupError(f"{backup}: it is no backup, or is damaged ({error})") from error


def _files(contents: Contents, archive: tarfile.TarFile) -> Iterator[tuple[Held, io.BufferedReader]]:
    """Each listed file in order. What is not listed, or would lie outside the folder, is refused."""
    for held in contents.files:
        place = PurePosixPath(held.name)
        if place.is_absolute() or ".." in place.parts or held.name == LIST:
            raise BackupError(f"a backup may not hold {held.name!r}")
        entry = archive.next()
        if entry is None or entry.name != held.name or not entry.isreg() or entry.size != held.bytes:
            raise BackupError(f"{held.name} is missing, or another file stands in its place")
        file = archive.extractfile(entry)
        if not isinstance(file, io.BufferedReader):
            raise BackupError(f"{held.name} cannot be read")
        yield held, file
    if archive.next() is not None:
        raise BackupError("more files stand in it than it lists")
