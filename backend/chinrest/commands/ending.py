"""How a command that keeps data finds its folder, and how it ends when it cannot do its work."""

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import urlsplit

import click
import platformdirs

from chinrest.server.settings import DATABASE, place_of
from chinrest.store import Store, StoreError

from .printing import print_json

T = TypeVar("T")
LONGEST_ORIGIN = 300
data_option = click.option(
    "--data",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of everything kept. Default: this user's data folder.",
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")


class CommandError(click.ClickException):
    """Ends the command with status 1, saying what, where and why; as JSON where JSON was asked for."""

    def __init__(self, code: str, where: str, why: str) -> None:
        super().__init__(f"{where}: {why}")
        self.fault = {"code": code, "where": where, "why": why}
        context = click.get_current_context(silent=True)
        self.as_json = bool(context and context.params.get("as_json"))

    def show(self, file: Any = None) -> None:
        if self.as_json:
            print_json({"ok": False, "fault": self.fault})
        else:
            super().show(file)


def origin_of_option(_context: click.Context, _option: click.Parameter, value: str | None) -> str | None:
    """Without a slash at its end. It goes into links and QR codes: nothing but an address may stand in it."""
    if value is None:
        return None
    try:
        parts = urlsplit(value)
        _ = parts.port  # raises where it is none
    except ValueError:
        parts = urlsplit("")
    plain = f"{parts.scheme}://{parts.netloc}"
    sound = parts.scheme in ("http", "https") and parts.hostname and "@" not in plain
    if not sound or value.rstrip("/") != plain or not plain.isprintable() or len(plain) > LONGEST_ORIGIN:
        raise click.BadParameter("give an address such as https://hub.example:8480")
    return plain


origin_option = click.option(
    "--origin",
    callback=origin_of_option,
    help="The address that people use. Default: as the server was started.",
)


def user_folder(demo: bool) -> Path:
    return platformdirs.user_data_path("chinrest", appauthor=False) / ("demo" if demo else "house")


def found_folder(data: Path | None) -> Path:
    """The folder of a server that was started before: as given, else the one started last."""
    if data is not None:
        folders = [data]
    else:
        folders = [user_folder(demo) for demo in (False, True)]
        folders.sort(key=_started_at, reverse=True)
    for folder in folders:
        if (folder / DATABASE).is_file() or isinstance(place_of(folder), str):
            return folder
    why = f"no server was started with {' or '.join(map(str, folders))} yet; see `chinrest serve --help`"
    raise CommandError("no_data", "--data", why)


def _started_at(folder: Path) -> float:
    note = folder / "serving.json"
    return note.stat().st_mtime if note.is_file() else 0.0


def with_store(folder: Path, work: Callable[[Store], Awaitable[T]], sites: dict[str, str] | None = None) -> T:
    """Run `work` on the folder's store. Works while the server runs."""

    async def run() -> T:
        store = await Store.open(place_of(folder), sites=sites)
        try:
            return await work(store)
        finally:
            await store.close()

    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        return asyncio.run(run())
    except StoreError as error:
        raise CommandError(error.code, error.where, error.why) from error
    except OSError as error:
        raise CommandError("no_folder", str(folder), str(error.strerror or error)) from error
