"""`chinrest sites`: the places of the service. Packs are approved for sites, and a phone belongs to one."""

import re
from pathlib import Path

import click

from .ending import CommandError, data_option, found_folder, json_option, user_folder, with_store
from .printing import print_json


@click.group()
def sites() -> None:
    """The service's sites."""


@sites.command()
@click.argument("site")
@click.argument("name")
@data_option
@json_option
def add(site: str, name: str, data: Path | None, as_json: bool) -> None:
    """Add a site by its id and NAME, or rename it. The id is the one that the guidance pack uses."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", site):
        raise CommandError("value", "SITE", "an id has 1 to 40 small letters, digits and dashes")
    if not 0 < len(name.strip()) <= 100 or not name.strip().isprintable():
        raise CommandError("value", "NAME", "a name is one line of 1 to 100 characters")
    folder = data or user_folder(demo=False)
    known = with_store(folder, lambda store: store.sites(), sites={site: name.strip()})
    if as_json:
        print_json(known)
    else:
        click.echo(f"{site}: {known[site]}. Kept in {folder}.")


@sites.command(name="list")
@data_option
@json_option
def list_sites(data: Path | None, as_json: bool) -> None:
    """The sites that this server knows."""
    known = with_store(found_folder(data), lambda store: store.sites())
    if as_json:
        print_json(known)
        return
    for site, name in known.items():
        click.echo(f"{site:20} {name}")
    if not known:
        click.echo("None yet: chinrest sites add ID NAME")
