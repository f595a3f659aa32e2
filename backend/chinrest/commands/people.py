"""`chinrest people`: the officers and leads who may sign in."""

import sys
from pathlib import Path

import click

from chinrest.server.context import now_ms
from chinrest.store.rows import Role

from .ending import CommandError, data_option, found_folder, json_option, user_folder, with_store
from .printing import print_json

LEAST_CHARACTERS = 10
from_stdin = click.option(
    "--password-stdin", is_flag=True, help="Read the password from the first line of standard input."
)


def _password(stdin: bool) -> str:
    if stdin:
        try:
            password = sys.stdin.buffer.readline().decode().rstrip("\r\n")
        except UnicodeDecodeError as error:
            raise CommandError("value", "password", "not text in UTF-8") from error
    else:
        password = click.prompt("Password", hide_input=True, confirmation_prompt=True)
    if len(password) < LEAST_CHARACTERS:
        raise CommandError("short_password", "password", f"use at least {LEAST_CHARACTERS} characters")
    return password


@click.group()
def people() -> None:
    """Officers and leads who may sign in at the desk."""


@people.command()
@click.option("--name", required=True, help="The name to sign in with.")
@click.option("--role", type=click.Choice(["officer", "lead"]), required=True)
@from_stdin
@data_option
@json_option
def add(name: str, role: Role, password_stdin: bool, data: Path | None, as_json: bool) -> None:
    """Add an officer or a lead; asks for a password."""
    password = _password(password_stdin)
    folder = data or user_folder(demo=False)
    person = with_store(folder, lambda store: store.add_staff(name, password, role, now_ms()))
    if as_json:
        print_json(person)
    else:
        click.echo(f"{person.name} may sign in as {person.role}. Kept in {folder}.")


@people.command()
@click.option("--name", required=True)
@from_stdin
@data_option
@json_option
def password(name: str, password_stdin: bool, data: Path | None, as_json: bool) -> None:
    """Set somebody's password anew, and end their sessions."""
    folder = found_folder(data)
    new = _password(password_stdin)
    with_store(folder, lambda store: store.set_password(name, new))
    if as_json:
        print_json({"ok": True})
    else:
        click.echo(f"{name} has a new password. Kept in {folder}.")


@people.command(name="list")
@data_option
@json_option
def list_people(data: Path | None, as_json: bool) -> None:
    """Who may sign in."""
    folder = found_folder(data)
    staff = with_store(folder, lambda store: store.staff())
    if as_json:
        print_json(staff)
        return
    for person in staff:
        click.echo(f"{person.role:8} {person.name}")
    if not staff:
        click.echo("Nobody yet: chinrest people add --name NAME --role lead")
