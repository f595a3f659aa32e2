"""`chinrest enrol`: a one-time code for a phone, also while the server runs."""

from datetime import datetime
from pathlib import Path

import click
import msgspec

from chinrest.server.context import now_ms
from chinrest.server.lead import CODE_LIVES_MS
from chinrest.server.wire import EnrolmentCode

from .ending import data_option, found_folder, json_option, origin_option, with_store
from .printing import print_json
from .qr import qr_text


class Serving(msgspec.Struct, frozen=True):
    """What a running server notes of itself in its folder, for the other commands."""

    origin: str


def note_serving(folder: Path, origin: str) -> None:
    (folder / "serving.json").write_bytes(msgspec.json.encode(Serving(origin)))


def noted_origin(folder: Path) -> str | None:
    """The address of the server that was last started with this folder; null where none was."""
    try:
        return msgspec.json.decode((folder / "serving.json").read_bytes(), type=Serving).origin
    except (FileNotFoundError, msgspec.MsgspecError):
        return None


@click.command()
@click.option("--site", required=True, help="The site that the phone belongs to (chinrest sites list).")
@click.option("--label", required=True, help="What to call the phone, such as 'Room 2'.")
@origin_option
@data_option
@json_option
def enrol(site: str, label: str, origin: str | None, data: Path | None, as_json: bool) -> None:
    """Print a code, its link and its QR code. It enrols one phone, once, within 15 minutes."""
    folder = found_folder(data)
    now = now_ms()
    made = with_store(folder, lambda store: store.add_code(site, label.strip(), now, now + CODE_LIVES_MS))
    address = origin or noted_origin(folder)
    url = f"{address}/#enrol={made.code}" if address else ""
    if as_json:
        print_json(EnrolmentCode(code=made.code, expires_at=made.expires_at, url=url))
        return
    until = datetime.fromtimestamp(made.expires_at / 1000).astimezone()
    click.echo(f"Code for {label.strip()} at {site}: {made.code}, once, until {until:%H:%M}.")
    if url:
        click.echo(f"On the phone, open {url}\nor scan:\n\n{qr_text(url)}")
    else:
        click.echo("Open the server's address on the phone, with #enrol= and the code at its end.")
