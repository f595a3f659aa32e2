"""`chinrest erase`: bodies of old cases, or of one by request, go; the chain and the counts stay."""

from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import click
import msgspec
from msgspec import Struct

from chinrest.server.context import now_ms
from chinrest.store import Store, StoreError
from chinrest.store.erasing import Due, Hold, Order

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .printing import print_json
from .retention import person_of, reason_option

SHOWN = 20
COMMAND = "command"
HELD: dict[Hold, str] = {
    "open_review": "an incident of it is not reviewed to its end",
    "not_passed_on": "the hospital's server has not said that it holds all of it",
    "in_use": "it is open, and something came within the last week",
}


class Outcome(Struct, kw_only=True):
    """What a run found and did. `erased`: bodies, of so many `cases`. `changed`: cases of which lines came
    while it ran; they stay."""

    order: Order
    due: list[Due]
    cases: int = 0
    erased: int = 0
    changed: int = 0


@click.command()
@click.option("--case", help="Only this case (its id, as the desk's address has it), by request.")
@click.option("--by", help="With --case: the officer or lead who decided it, by the name of signing in.")
@click.option("--why", callback=reason_option, help="With --case: the reason. Nothing about a patient.")
@click.option("--for-good", is_flag=True, help="Erase. Without it, only say what would be erased.")
@data_option
@json_option
def erase(
    case: str | None, by: str | None, why: str | None, for_good: bool, data: Path | None, as_json: bool
) -> None:
    """Say what the rule of `chinrest retention` would erase, and with --for-good erase it.

    What phones wrote of a case goes: every body, whatever was kept aside, its code. Envelopes stay, so that
    the chain still verifies, and a signed tombstone names what went and keeps what rates count. What the desk
    decided about its incidents stays. Backups and exports made before still hold it, and so may phones and
    hubs; see the README. Works while the server runs.
    """
    folder = found_folder(data)
    if (case is None) != (by is None) or (case is None) != (why is None):
        raise CommandError("value", "--case", "one case is erased with --case, --by and --why")

    async def run(store: Store) -> Outcome:
        now = now_ms()
        if case and by and why:
            outcome = await _by_request(store, case, by, why, now)
        else:
            outcome = await _by_age(store, now)
        if for_good:
            await _erase(store, outcome, now)
        return outcome

    outcome = with_store(folder, run)
    if as_json:
        print_json({"for_good": for_good, **msgspec.to_builtins(outcome)})
    else:
        _tell(outcome, for_good)


async def _erase(store: Store, outcome: Outcome, now: int) -> None:
    for due in outcome.due:
        if due.held is not None:
            continue
        try:
            outcome.erased += await store.erase(due, outcome.order, now)
        except StoreError as fault:
            if fault.code not in ("changed", "held"):
                raise
            outcome.changed += 1
        else:
            outcome.cases += 1
    await store.scrub()


async def _by_age(store: Store, now: int) -> Outcome:
    rule = await store.retention()
    if rule is None or rule.years is None:
        why = "no rule says that cases are erased by age: chinrest retention set --years"
        raise CommandError("no_rule", "retention", why)
    order = Order(by=COMMAND, rule="age", years=rule.years, why=rule.why)
    return Outcome(order=order, due=await store.due_before(years_before(now, rule.years)))


def years_before(now: int, years: int) -> int:
    """The same day so many years earlier (29 February: the day before), ms."""
    then = datetime.fromtimestamp(now / 1000, UTC)
    day = min(then.day, 28) if then.month == 2 else then.day
    return int(then.replace(year=max(then.year - years, 1), day=day).timestamp() * 1000)


async def _by_request(store: Store, case: str, by: str, why: str, now: int) -> Outcome:
    person = await person_of(store, by)
    due = await store.due_case(case, now)
    if due is None:
        raise CommandError("case_unknown", "--case", "no body of such a case stands here")
    if due.held is not None:
        raise CommandError("held", "--case", f"it stays: {HELD[due.held]}")
    return Outcome(order=Order(by=person.id, rule="request", years=None, why=why), due=[due])


def _tell(outcome: Outcome, for_good: bool) -> None:
    order = outcome.order
    going = [due for due in outcome.due if due.held is None]
    rule = f"older than {order.years} years" if order.rule == "age" else "by request"
    click.echo(f"Cases {rule} ({order.why}): {len(outcome.due)}.")
    for due in going[:SHOWN]:
        last = datetime.fromtimestamp(due.last_at / 1000, UTC).strftime("%Y-%m-%d")
        click.echo(f"  {due.case}  {due.site}  {due.code or '-'}  last line {last}  {_bodies(due.lines)}")
    if len(going) > SHOWN:
        click.echo(f"  and {len(going) - SHOWN} more; --json names every one")
    for held, count in sorted(Counter(due.held for due in outcome.due if due.held).items()):
        click.echo(f"  {count} kept: {HELD[held]}")
    if for_good:
        click.echo(f"Erased: {_bodies(outcome.erased)} of {outcome.cases} cases.")
        if outcome.changed:
            click.echo(f"{outcome.changed} stay for now: lines of them came meanwhile.")
        click.echo("Backups and exports made before still hold them, and phones and hubs may.")
    else:
        bodies = sum(due.lines for due in going)
        click.echo(f"Would erase {_bodies(bodies)} of {len(going)} cases. Nothing was erased.")
        click.echo("--for-good erases them.")


def _bodies(count: int) -> str:
    return f"{count} {'body' if count == 1 else 'bodies'}"
