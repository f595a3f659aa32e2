"""`chinrest backup` and `chinrest restore`: everything that a server keeps, out and back."""

import shlex
import subprocess
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import click
import msgspec

from chinrest.server import backup as backups
from chinrest.server.context import now_ms
from chinrest.server.settings import ADDRESS, DATABASE, place_of
from chinrest.store import Store
from chinrest.store.backed_up import Mark
from chinrest.store.rows import Identity

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .holding import holding
from .printing import print_json


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False)
@data_option
@click.option(
    "--run",
    "command",
    metavar="COMMAND",
    help="On PostgreSQL: the command line that makes the backup (pg_dump's, say). Counts if it ends with 0.",
)
@json_option
def backup(file: Path | None, data: Path | None, command: str | None, as_json: bool) -> None:
    """Back everything up into FILE while the server runs. Default: a new file here, named by the time.

    The file is read back before the command ends. It holds the server's private keys: guard it as you guard
    the server. Phones learn what it holds and clear nothing else, so keep it on another disk than the
    server's.
    """
    folder = found_folder(data)
    if command is not None:
        _by_own_means(folder, command, as_json)
        return
    _embedded_only(folder)
    now = now_ms()
    stamp = datetime.fromtimestamp(now / 1000, UTC).strftime("%Y%m%dT%H%M%SZ")
    target = file or Path(f"chinrest-{stamp}.backup")
    if target.exists():
        raise CommandError("file", str(target), "it is there already")
    with tempfile.TemporaryDirectory(dir=target.absolute().parent, prefix=".chinrest-") as temporary:
        copy = Path(temporary, DATABASE)

        async def take(store: Store) -> None:
            await store.copy_to(copy)

        async def read(store: Store) -> tuple[Identity, int, list[Mark]]:
            return await store.identity(), await store.position(), await store.heads(now)

        with_store(folder, take)
        who, position, marks = with_store(copy.parent, read)
        try:
            contents = backups.pack(folder, copy, target, who, position, now)
        except backups.BackupError as error:
            raise CommandError("backup", str(target), str(error)) from error
        except FileExistsError as error:
            raise CommandError("file", str(error.filename or target), "it is there already") from error
    _note(folder, who, marks)
    if as_json:
        print_json(
            {"file": str(target), "sha256": backups.digest_of(target), **msgspec.to_builtins(contents)}
        )
    else:
        click.echo(f"{target}: everything up to log position {contents.position}, read back and sound.")
        click.echo("It holds the server's private keys: guard it as you guard the server.")


def _by_own_means(folder: Path, command: str, as_json: bool) -> None:
    """What stood before the command began is what its backup holds at least."""
    if not isinstance(place_of(folder), str):
        raise CommandError("embedded", "--run", "this server's database is backed up without it, into a file")
    now = now_ms()

    async def read(store: Store) -> tuple[Identity, int, list[Mark]]:
        return await store.identity(), await store.position(), await store.heads(now)

    who, position, marks = with_store(folder, read)
    ended = subprocess.run(shlex.split(command), check=False)  # noqa: S603 - the administrator's own words
    if ended.returncode != 0:
        why = f"it ended with status {ended.returncode}: nothing counts as backed up by it"
        raise CommandError("backup", "--run", why)
    _note(folder, who, marks)
    if as_json:
        print_json({"command": command, "made_at": now, "position": position})
    else:
        click.echo(f"Everything up to log position {position} counts as backed up.")


def _note(folder: Path, who: Identity, marks: list[Mark]) -> None:
    """From now on phones are told that this backup holds their lines."""
    if not with_store(folder, lambda store: store.note_backup(who.epoch, marks)):
        why = "the server was restored while the backup was made: phones are not told of it. Make another"
        raise CommandError("backup", str(folder), why)


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False)
@click.option(
    "--data",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder to restore into. What it holds is moved aside, never deleted.",
)
@click.option("--check", "only_check", is_flag=True, help="Only read the backup and say whether it is sound.")
@click.option(
    "--done",
    is_flag=True,
    help="On PostgreSQL, without FILE: the database was restored by its own means, and no server ran since.",
)
@json_option
def restore(file: Path | None, data: Path, only_check: bool, done: bool, as_json: bool) -> None:
    """Restore a backup. Stop the server first.

    A new epoch begins: every phone offers again what the backup lacks, so that nothing that a phone still
    holds is lost.
    """
    if done:
        _restored_by_own_means(data, as_json)
        return
    if file is None:
        raise CommandError("file", "FILE", "say which backup")
    aside: Path | None = None
    _embedded_only(data)
    try:
        contents = backups.check(file)
        if not only_check:
            aside = _make_room(data)
            data.mkdir(parents=True, exist_ok=True, mode=0o700)
            backups.unpack(file, data)
            with_store(data, lambda store: store.new_epoch(now_ms(), contents.made_at))
    except backups.BackupError as error:
        raise CommandError("backup", str(file), str(error)) from error
    if as_json:
        said = {"file": str(file), "restored": not only_check, "aside": str(aside) if aside else None}
        print_json({**said, **msgspec.to_builtins(contents)})
        return
    made = datetime.fromtimestamp(contents.made_at / 1000, UTC).strftime("%Y-%m-%d %H:%M UTC")
    click.echo(f"{file}: sound; made {made}, log position {contents.position}.")
    if not only_check:
        if aside is not None:
            click.echo(f"What {data} held is now in {aside}.")
        click.echo(f"Restored into {data}. A new epoch has begun: phones offer again what this server lacks.")
        click.echo("What was erased after this backup was made stands here again: run chinrest erase.")


def _restored_by_own_means(data: Path, as_json: bool) -> None:
    if not isinstance(place_of(data), str):
        raise CommandError("embedded", "--done", "this server's database is restored from a file of ours")
    now = now_ms()
    who = with_store(data, lambda store: store.new_epoch(now, now))
    if as_json:
        print_json({"restored": True, "epoch": who.epoch})
    else:
        click.echo("A new epoch has begun: phones offer again what this server lacks.")


def _embedded_only(folder: Path) -> None:
    if isinstance(place_of(folder), str):
        why = (
            "PostgreSQL is backed up and restored by its own means (pg_dump, or a base backup with its log);"
            " see --run and --done"
        )
        raise CommandError("postgresql", ADDRESS, why)


def _make_room(data: Path) -> Path | None:
    """Move what the folder holds aside. Where a server still uses it, moving would lose what comes next."""
    if not data.exists() or not any(data.iterdir()):
        return None
    if not (data / DATABASE).is_file():
        raise CommandError("wrong_folder", "--data", f"{data} is not empty, and no server's folder")
    aside = data.with_name(f"{data.name}.before-{now_ms()}")
    with holding(data):
        data.rename(aside)
    return aside
