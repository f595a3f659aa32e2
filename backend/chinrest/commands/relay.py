"""`chinrest relay`: a satellite's server carries its lines to the hospital's when there is a link."""

import asyncio
import random
import re
import ssl
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

import click
import httpx

from chinrest.log.signing import is_public_key
from chinrest.server.relaying import PATIENCE_S, Relay, Relayed, RelayError, back_off
from chinrest.server.settings import place_of
from chinrest.store import Store, StoreError

from .ending import CommandError, data_option, found_folder, json_option, origin_of_option
from .numbers import Number, Whole
from .printing import print_json

FINGERPRINT = re.compile(r"[0-9a-f]{4}(-[0-9a-f]{4}){7}")


def _target(context: click.Context, option: click.Parameter, value: str | None) -> str | None:
    """On the way to another machine the lines and the devices' names must not be read."""
    origin = origin_of_option(context, option, value)
    if origin is not None and origin.startswith("http:"):
        host = urlsplit(origin).hostname or ""
        try:
            here = host == "localhost" or ip_address(host).is_loopback
        except ValueError:
            here = False
        if not here:
            raise click.BadParameter("http only on this machine itself; give the server's https address")
    return origin


def _key(_context: click.Context, _option: click.Parameter, value: str | None) -> str | None:
    if value is None or is_public_key(value) or FINGERPRINT.fullmatch(value):
        return value
    raise click.BadParameter("neither a P-256 public key (SPKI in base64) nor its fingerprint")


@click.command()
@click.option("--to", "target", required=True, callback=_target, help="The hospital's server.")
@click.option(
    "--server-key",
    metavar="KEY|FINGERPRINT",
    callback=_key,
    help="The hospital's own key, from `chinrest hubs key` there. Needed at first contact and kept; do that"
    " before phones are enrolled here: they learn it then.",
)
@click.option("--every", type=Number(least=1.0), help="Go on, a round every so many seconds.")
@click.option("--tries", type=Whole(1, 100), default=5, show_default=True, help="Of one round.")
@click.option(
    "--ca",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="The authority that vouches for the server, where it has its own.",
)
@data_option
@json_option
def relay(
    target: str,
    server_key: str | None,
    every: float | None,
    tries: int,
    ca: Path | None,
    data: Path | None,
    as_json: bool,
) -> None:
    """Carry every line that the server at --to lacks, keep its receipts, and bring its guidance packs back.

    Works beside the running server. May be cut at any time: the next round goes on where this one was.
    """
    folder = found_folder(data)
    try:
        asyncio.run(_run(folder, target, server_key, every, tries, ca, as_json))
    except (StoreError, RelayError) as error:
        raise CommandError(error.code, error.where, error.why) from error
    except KeyboardInterrupt:
        click.echo("Stopped.", err=True)


async def _run(
    folder: Path,
    target: str,
    server_key: str | None,
    every: float | None,
    tries: int,
    ca: Path | None,
    as_json: bool,
) -> None:
    trust = ssl.create_default_context(cafile=str(ca)) if ca else True
    store = await Store.open(place_of(folder))
    dice = random.Random()  # noqa: S311  # jitter, not a secret
    try:
        async with httpx.AsyncClient(base_url=target, timeout=PATIENCE_S, verify=trust) as client:
            carrier = Relay(store, client, server_key)
            while True:
                _tell(await _round(carrier, tries, dice, as_json), as_json)
                if every is None:
                    return
                await asyncio.sleep(every)
    finally:
        await store.close()


async def _round(carrier: Relay, tries: int, dice: random.Random, as_json: bool) -> Relayed:
    """One round, tried again where the link fails; each try goes on where the last one was cut."""
    for failed in range(tries):
        try:
            return await carrier.round(lambda text: None if as_json else click.echo(text, err=True))
        except httpx.HTTPError as error:
            said = str(error) or type(error).__name__
            if failed + 1 == tries:
                why = f"no answer after {tries} tries ({said}); nothing is lost: run it again"
                raise CommandError("no_link", "--to", why) from error
            wait = back_off(failed, dice)
            click.echo(f"The link failed ({said}); again in {wait:.0f} s.", err=True)
            await asyncio.sleep(wait)
    raise AssertionError("a round ends by itself")


def _tell(done: Relayed, as_json: bool) -> None:
    if as_json:
        print_json(done)
        return
    click.echo(f"{done.devices} devices: {done.lines} lines carried, {done.repeats} were there already.")
    for text in done.refused:
        click.echo(f"refused: {text}")
    for text in done.forks:
        click.echo(f"another branch: {text}")
    for text in done.erased:
        click.echo(f"erased here, and lacking at the server beyond: {text}")
    for text in done.packs:
        click.echo(f"guidance in force: {text}")
    for text in dict.fromkeys(done.unproved):
        click.echo(f"guidance not taken, it does not prove here: {text}")
    for text in done.withdrawn:
        click.echo(f"withdrawn: {text}")
    for text in done.people:
        click.echo(f"of people, by name: {text}")
