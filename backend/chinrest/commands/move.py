"""`chinrest move`: from the embedded database to PostgreSQL, or back."""

import asyncio
from pathlib import Path

import click

from chinrest.store.engines import Place, is_postgresql
from chinrest.store.faults import StoreError
from chinrest.store.moving import move as move_all

from .ending import CommandError, json_option
from .printing import print_json

EMBEDDED = "sqlite:"


def _place(_context: click.Context, option: click.Parameter, value: str) -> Place:
    if value.startswith(EMBEDDED):
        return Path(value.removeprefix(EMBEDDED).removeprefix("///") or ".")
    if is_postgresql(value):
        return value
    raise click.BadParameter("give sqlite:FILE or postgresql://USER@HOST/NAME", param=option)


@click.command()
@click.option("--from", "source", callback=_place, required=True, help="sqlite:FILE or postgresql://…")
@click.option("--to", "target", callback=_place, required=True, help="An empty database to move into.")
@json_option
def move(source: Place, target: Place, as_json: bool) -> None:
    """Copy a whole store into another database and verify every line. Stop the server first.

    The source is left as it is. Afterwards serve from the new one: set CHINREST_DATABASE to its address.
    """
    if isinstance(source, Path) and not source.is_file():
        raise CommandError("no_file", "--from", f"there is no file {source}")

    def told(table: str, rows: int) -> None:
        if not as_json:
            click.echo(f"\r{table}: {rows}", nl=False, err=True)

    try:
        moved = asyncio.run(move_all(source, target, told))
    except StoreError as error:
        raise CommandError(error.code, error.where, error.why) from error
    if as_json:
        print_json(moved)
        return
    click.echo("", err=True)
    rows = sum(moved.rows.values())
    click.echo(
        f"{rows} rows of {len(moved.rows)} tables moved, {moved.rows['lines']} of them lines of the log."
    )
    click.echo(f"The same on both sides: SHA-256 {moved.lines_sha256} over every line in order.")
