"""`chinrest take`: lines that came by file, and the receipts that go back."""

import os
from pathlib import Path

import click
import msgspec

from chinrest.log.carried import FILE_LIMIT_BYTES
from chinrest.server.carried import take_carried
from chinrest.server.context import now_ms
from chinrest.server.faults import RequestError
from chinrest.server.wire import Carried
from chinrest.store import Store

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .printing import print_json

BY = "command"


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--receipts",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the receipts. Default: beside FILE, as FILE.receipts.txt.",
)
@data_option
@json_option
def take(file: Path, receipts: Path | None, data: Path | None, as_json: bool) -> None:
    """Take in FILE, which a phone sealed for this server. Works while the server runs; twice is once.

    Bring the receipts back to the phone: it keeps its lines until it has them, or has reached the server
    itself.
    """
    folder = found_folder(data)
    try:
        with file.open("rb") as opened:
            raw = opened.read(FILE_LIMIT_BYTES + 1)
    except OSError as error:
        raise CommandError("unreadable", str(file), str(error.strerror or error)) from error
    if len(raw) > FILE_LIMIT_BYTES:
        raise CommandError("too_large", str(file), f"more than {FILE_LIMIT_BYTES} bytes: no file of a phone")

    async def work(store: Store) -> Carried:
        if await store.beyond() is not None:
            raise RequestError(409, "wrong_server", "file", "this is a hub; the file is for the final server")
        return await take_carried(store, raw, BY, now_ms())

    try:
        taken = with_store(folder, work)
    except RequestError as error:
        fault = error.fault
        raise CommandError(fault.code, str(file), f"{fault.why}. Nothing was taken") from error
    target = receipts or _free(file)
    try:
        with target.open("x", encoding="ascii") as out:
            out.write(taken.receipts)
            out.flush()
            os.fsync(out.fileno())
    except OSError as error:
        why = f"the lines were taken, but the receipts were not written ({error.strerror}); take it again"
        raise CommandError("file", str(target), why) from error
    if as_json:
        print_json({**msgspec.to_builtins(taken), "receipts": str(target)})
    else:
        click.echo(
            f"{taken.label}: {taken.stored} lines stored, {taken.repeats} were here already,"
            f" {taken.refused} refused."
        )
        click.echo(f"Bring {target} back to that phone.")


def _free(file: Path) -> Path:
    """Receipts of an earlier taking are left alone."""
    number = 1
    while True:
        suffix = ".receipts.txt" if number == 1 else f".receipts-{number}.txt"
        target = file.with_name(file.name + suffix)
        if not target.exists():
            return target
        number += 1
