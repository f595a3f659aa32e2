"""`chinrest hubs`: the servers that may relay lines to this one, each known by its own key."""

import uuid
from pathlib import Path

import click

from chinrest.log.signing import fingerprint, is_public_key
from chinrest.server.context import now_ms

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .printing import print_json


@click.group()
def hubs() -> None:
    """Servers that may relay to this one, and this server's own key."""


@hubs.command()
@data_option
@json_option
def key(data: Path | None, as_json: bool) -> None:
    """This server's id and public key: the hospital needs a hub's to approve it, a hub the hospital's to
    know it."""
    who = with_store(found_folder(data), lambda store: store.identity())
    if as_json:
        print_json({"id": who.server, "key": who.public_key, "fingerprint": fingerprint(who.public_key)})
        return
    click.echo(f"id           {who.server}")
    click.echo(f"key          {who.public_key}")
    click.echo(f"fingerprint  {fingerprint(who.public_key)}")
    click.echo("A hub's, at the hospital's server: chinrest hubs add NAME --id ID --key KEY")
    click.echo("The hospital's, at the hub: chinrest relay --to ADDRESS --server-key FINGERPRINT")


@hubs.command()
@click.argument("name")
@click.option("--id", "hub", required=True, help="The hub's own id, from `chinrest hubs key` there.")
@click.option("--key", "public_key", required=True, help="Its public key. Compare the fingerprint by voice.")
@data_option
@json_option
def add(name: str, hub: str, public_key: str, data: Path | None, as_json: bool) -> None:
    """Approve a hub by its key; NAME is what people here call it."""
    try:
        hub = str(uuid.UUID(hub))
    except ValueError as error:
        raise CommandError("value", "--id", "not a server's id") from error
    if not is_public_key(public_key):
        raise CommandError("value", "--key", "not a P-256 public key, SPKI in base64")
    if not 0 < len(name.strip()) <= 100 or not name.strip().isprintable():
        raise CommandError("value", "NAME", "a name is one line of 1 to 100 characters")
    folder = found_folder(data)
    with_store(folder, lambda store: store.add_hub(hub, name.strip(), public_key, now_ms()))
    if as_json:
        print_json({"id": hub, "name": name.strip(), "fingerprint": fingerprint(public_key)})
    else:
        click.echo(
            f"{name.strip()} may relay to this server. Its key's fingerprint: {fingerprint(public_key)}"
        )


@hubs.command(name="list")
@data_option
@json_option
def list_hubs(data: Path | None, as_json: bool) -> None:
    """The hubs that are approved here."""
    known = with_store(found_folder(data), lambda store: store.hubs())
    if as_json:
        print_json(known)
        return
    for hub in known:
        state = "withdrawn" if hub.withdrawn else "approved"
        click.echo(f"{hub.id}  {hub.name:24} {state:10} {fingerprint(hub.public_key)}")
    if not known:
        click.echo("None yet: chinrest hubs add NAME --id ID --key KEY")


@hubs.command()
@click.argument("hub")
@data_option
@json_option
def withdraw(hub: str, data: Path | None, as_json: bool) -> None:
    """Take nothing more from the hub with this id. What it relayed stays."""
    with_store(found_folder(data), lambda store: store.withdraw_hub(hub, now_ms()))
    if as_json:
        print_json({"id": hub, "withdrawn": True})
    else:
        click.echo(f"{hub} may no longer relay to this server.")
