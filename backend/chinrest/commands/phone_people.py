"""`chinrest people withdraw` and `readmit`: who may unlock a site's phones no longer."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from chinrest.server.context import now_ms

from .ending import data_option, found_folder, json_option, with_store
from .printing import print_json

_OPTIONS = [
    click.option("--name", required=True, help="The name that they unlock a phone with."),
    click.option("--site", required=True, help="Whose phones (chinrest sites list)."),
    click.option("--why", required=True, help="The reason, for the log."),
    click.option("--by", default="command line", show_default=True, help="Who decides it."),
    data_option,
    json_option,
]


def _asked(command: Callable[..., None]) -> Callable[..., Any]:
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@click.command()
@_asked
def withdraw(name: str, site: str, why: str, by: str, data: Path | None, as_json: bool) -> None:
    """Close a site's phones to somebody, from each phone's next contact on."""
    folder = found_folder(data)
    with_store(folder, lambda store: store.withdraw_person(site, name, by, why.strip(), now_ms()))
    _say(folder, site, as_json)


@click.command()
@_asked
def readmit(name: str, site: str, why: str, by: str, data: Path | None, as_json: bool) -> None:
    """Let somebody have a PIN on a site's phones again, who was withdrawn."""
    folder = found_folder(data)
    with_store(folder, lambda store: store.readmit_person(site, name, by, why.strip(), now_ms()))
    _say(folder, site, as_json)


def _say(folder: Path, site: str, as_json: bool) -> None:
    names = with_store(folder, lambda store: store.withdrawn_people(site))
    if as_json:
        print_json({"site": site, "withdrawn": names})
    else:
        click.echo(f"Phones of {site} are closed to: {', '.join(names) or 'nobody'}.")
