"""`chinrest retention`: for how many years the clinic keeps its cases."""

from pathlib import Path

import click

from chinrest.server.context import now_ms
from chinrest.store import Store
from chinrest.store.rows import Staff

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .numbers import Whole
from .printing import print_json

MOST_YEARS = 100
MAY_SAY = frozenset({"officer", "lead", "admin"})


async def person_of(store: Store, name: str) -> Staff:
    """An officer, lead or admin without a site, by name: only these say what is kept. Raises CommandError."""
    found = next((one for one in await store.staff() if one.name.casefold() == name.casefold()), None)
    if found is None or found.withdrawn or found.role not in MAY_SAY:
        why = f"no officer, lead or admin is called {name!r}; chinrest people list"
        raise CommandError("staff_unknown", "--by", why)
    if found.site is not None:
        why = f"{found.name} sees {found.site} alone; this is about every site, so name somebody without one"
        raise CommandError("whole_house", "--by", why)
    return found


def reason_option(_context: click.Context, _option: click.Parameter, value: str | None) -> str | None:
    if value is not None and not (0 < len(value.strip()) <= 500 and value.isprintable()):
        raise click.BadParameter("give one line of 1 to 500 characters, with nothing about a patient")
    return None if value is None else value.strip()


@click.group()
def retention() -> None:
    """For how long cases are kept; `chinrest erase` acts on it."""


@retention.command()
@data_option
@json_option
def show(data: Path | None, as_json: bool) -> None:
    """The rule in force."""
    folder = found_folder(data)
    rule = with_store(folder, lambda store: store.retention())
    if as_json:
        print_json(rule)
    elif rule is None:
        click.echo("No rule was ever set: nothing is erased by age.")
    elif rule.years is None:
        click.echo(f"Cases are kept for good. Why: {rule.why}")
    else:
        years = "1 year" if rule.years == 1 else f"{rule.years} years"
        click.echo(f"Cases are kept for {years} after their last line came. Why: {rule.why}")


@retention.command(name="set")
@click.option("--years", type=Whole(1, MOST_YEARS), help="After a case's last line came.")
@click.option("--for-good", is_flag=True, help="Nothing is erased by age.")
@click.option("--by", required=True, help="The officer, lead or admin who decided it, by their sign-in name.")
@click.option("--why", required=True, callback=reason_option, help="The law or rule that says so.")
@data_option
@json_option
def set_rule(years: int | None, for_good: bool, by: str, why: str, data: Path | None, as_json: bool) -> None:
    """Set the rule; it is a line of the server's own chain. What must be kept, local law and rules say."""
    if (years is None) != for_good:
        raise CommandError("value", "--years", "say either --years or --for-good")
    folder = found_folder(data)

    async def change(store: Store) -> None:
        person = await person_of(store, by)
        await store.set_retention(years, person.id, why, now_ms())

    with_store(folder, change)
    if as_json:
        print_json({"years": years, "why": why})
    else:
        kept = "for good" if years is None else f"for {years} years after their last line came"
        click.echo(f"Cases are kept {kept}. Nothing was erased: chinrest erase does that.")
