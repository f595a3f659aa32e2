"""`chinrest people`: who may sign in at the desk, and as what."""

import sys
from datetime import datetime
from pathlib import Path
from typing import get_args

import click

from chinrest.server.accounts import INVITATION_LIVES_MS, invitation_link
from chinrest.server.context import now_ms
from chinrest.store import Store, StoreError
from chinrest.store.people import BY_COMMAND, check_new_password
from chinrest.store.rows import Account, Role

from .ending import (
    CommandError,
    data_option,
    found_folder,
    json_option,
    origin_option,
    user_folder,
    with_store,
)
from .enrol import noted_origin
from .phone_people import readmit, withdraw
from .printing import print_json

from_stdin = click.option(
    "--password-stdin", is_flag=True, help="Read the password from the first line of standard input."
)
name_option = click.option("--name", required=True, help="The name to sign in with.")
role_option = click.option("--role", type=click.Choice(get_args(Role)), required=True)
site_option = click.option(
    "--site", help="All that they see and change is of this site (chinrest sites list). Default: all sites."
)


def _password(stdin: bool) -> str:
    if stdin:
        try:
            password = sys.stdin.buffer.readline().decode().rstrip("\r\n")
        except UnicodeDecodeError as error:
            raise CommandError("value", "password", "not text in UTF-8") from error
    else:
        password = click.prompt("Password", hide_input=True, confirmation_prompt=True)
    try:
        check_new_password(password)
    except StoreError as error:
        raise CommandError(error.code, error.where, error.why) from error
    return password


@click.group()
def people() -> None:
    """Who may sign in at the desk: photographers, officers, leads, admins."""


people.add_command(withdraw)
people.add_command(readmit)


@people.command()
@name_option
@role_option
@site_option
@from_stdin
@data_option
@json_option
def add(
    name: str, role: Role, site: str | None, password_stdin: bool, data: Path | None, as_json: bool
) -> None:
    """Add somebody; asks for a password."""
    password = _password(password_stdin)
    folder = data or user_folder(demo=False)
    person = with_store(folder, lambda store: store.add_staff(name, password, role, now_ms(), site=site))
    if as_json:
        print_json(person)
    else:
        click.echo(f"{person.name} may sign in as {person.role}. Kept in {folder}.")


@people.command()
@name_option
@role_option
@site_option
@origin_option
@data_option
@json_option
def invite(
    name: str, role: Role, site: str | None, origin: str | None, data: Path | None, as_json: bool
) -> None:
    """Add somebody who sets their own password, by a link that is good once within 72 hours."""
    folder = found_folder(data)
    address = origin or noted_origin(folder)
    if address is None:
        why = "no server was started with this folder yet, so its address is not known; give it"
        raise CommandError("no_origin", "--origin", why)
    now = now_ms()
    until = now + INVITATION_LIVES_MS
    made = with_store(folder, lambda store: store.invite(name, role, site, BY_COMMAND, now, until))
    link = invitation_link(address, made)
    if as_json:
        print_json(link)
        return
    when = datetime.fromtimestamp(until / 1000).astimezone()
    click.echo(f"For {name.strip()}, once, until {when:%d %B, %H:%M}; give it to nobody else:\n{link.url}")


@people.command()
@name_option
@from_stdin
@data_option
@json_option
def password(name: str, password_stdin: bool, data: Path | None, as_json: bool) -> None:
    """Set somebody's password anew, and end their sessions."""
    folder = found_folder(data)
    new = _password(password_stdin)
    with_store(folder, lambda store: store.set_password(name, new, now_ms()))
    if as_json:
        print_json({"ok": True})
    else:
        click.echo(f"{name} has a new password. Kept in {folder}.")


@people.command(name="second-factor-off")
@name_option
@click.option("--why", required=True, help="The reason, for the log.")
@data_option
@json_option
def second_factor_off(name: str, why: str, data: Path | None, as_json: bool) -> None:
    """Let somebody sign in by password alone, who lost authenticator and recovery codes."""
    folder = found_folder(data)

    async def work(store: Store) -> None:
        person = await store.staff_named(name)
        await store.turn_second_factor_off(person.id, BY_COMMAND, why.strip(), now_ms())

    with_store(folder, work)
    if as_json:
        print_json({"ok": True})
    else:
        click.echo(f"{name} signs in by password alone. Kept in {folder}.")


@people.command(name="list")
@data_option
@json_option
def list_people(data: Path | None, as_json: bool) -> None:
    """Who may sign in."""
    folder = found_folder(data)
    staff = with_store(folder, lambda store: store.accounts())
    if as_json:
        print_json(staff)
        return
    for person in staff:
        click.echo(f"{person.role:12} {person.name}{_note(person)}")
    if not staff:
        click.echo("Nobody yet: chinrest people add --name NAME --role lead")


def _note(person: Account) -> str:
    at = f", {person.site} alone" if person.site else ""
    if person.withdrawn_at is not None:
        return f"{at} (withdrawn)"
    return at if person.joined else f"{at} (invited)"
