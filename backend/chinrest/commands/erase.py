"""`chinrest erase`: what is old, or one case or incident by request, goes; the chain and the counts stay."""

from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import click
import msgspec
from msgspec import Struct

from chinrest.server.context import now_ms
from chinrest.store import Store, StoreError
from chinrest.store.erasing import Due, Erased, Hold, Order, years_before
from chinrest.store.loose import Loose

from .ending import CommandError, data_option, found_folder, json_option, with_store
from .printing import print_json
from .retention import person_of, reason_option

SHOWN = 20
COMMAND = "command"
HELD: dict[Hold, str] = {
    "open_review": "an incident of it is not reviewed to its end",
    "not_passed_on": "the hospital's server has not said that it holds all of it",
    "not_folded": "it could not be folded, so nobody knows what it counts; see the server's log",
    "in_use": "it is open, and something came within the last week",
}


class Outcome(Struct, kw_only=True):
    """What a run found and did. `erased`: bodies that phones wrote, of so many `cases` and of what belongs to
    none; `words`: of the desk's own lines; `refused`: kept aside. `changed`: cases of which lines came while
    it ran; they stay."""

    order: Order
    due: list[Due]
    loose: list[Loose]
    cases: int = 0
    erased: int = 0
    words: int = 0
    refused: int = 0
    changed: int = 0


@click.command()
@click.option("--case", help="Only this case (its id, as the desk's address has it), by request.")
@click.option("--incident", help="Only this incident, which belongs to no case, by request.")
@click.option(
    "--by",
    help="With --case or --incident: the officer, lead or admin who decided it, by their sign-in name.",
)
@click.option("--why", callback=reason_option, help="With these: the reason. Nothing about a patient.")
@click.option("--for-good", is_flag=True, help="Erase. Without it, only say what would be erased.")
@data_option
@json_option
def erase(
    case: str | None,
    incident: str | None,
    by: str | None,
    why: str | None,
    for_good: bool,
    data: Path | None,
    as_json: bool,
) -> None:
    """Say what the rule of `chinrest retention` would erase, and with --for-good erase it.

    What was written of a case goes: every body, whatever was kept aside, its code, the words of its reviews.
    So does what belongs to no case and is as old. Envelopes stay, so that the chain still verifies, and a
    signed tombstone names what went and keeps what rates count and what the desk decided. Backups and exports
    made before still hold it, and so may phones and hubs; see the README. Works while the server runs.
    """
    folder = found_folder(data)
    asked = [one for one in (case, incident) if one is not None]
    if len(asked) > 1 or bool(asked) != (by is not None) or bool(asked) != (why is not None):
        raise CommandError("value", "--case", "one is erased with --case or --incident, and --by and --why")

    async def run(store: Store) -> Outcome:
        now = now_ms()
        if asked and by and why:
            order = Order(by=(await person_of(store, by)).id, rule="request", years=None, why=why)
            outcome = await _by_request(store, case, incident, order, now)
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
            _add(outcome, await store.erase(due, outcome.order, now))
        except StoreError as fault:
            if fault.code not in ("changed", "held"):
                raise
            outcome.changed += 1
        else:
            outcome.cases += 1
    for loose in outcome.loose:
        if loose.held is None:
            _add(outcome, await store.erase_loose(loose, outcome.order, now))
    await store.scrub()


def _add(outcome: Outcome, erased: Erased) -> None:
    outcome.erased += erased.bodies
    outcome.words += erased.words
    outcome.refused += erased.refused


async def _by_age(store: Store, now: int) -> Outcome:
    rule = await store.retention()
    if rule is None or rule.years is None:
        why = "no rule says that cases are erased by age: chinrest retention set --years"
        raise CommandError("no_rule", "retention", why)
    order = Order(by=COMMAND, rule="age", years=rule.years, why=rule.why)
    cutoff = years_before(now, rule.years)
    return Outcome(order=order, due=await store.due_before(cutoff), loose=await store.loose_before(cutoff))


async def _by_request(
    store: Store, case: str | None, incident: str | None, order: Order, now: int
) -> Outcome:
    if case is not None:
        due = await store.due_case(case, now)
        if due is None:
            raise CommandError("case_unknown", "--case", "no body of such a case stands here")
        found, outcome = due.held, Outcome(order=order, due=[due], loose=[])
        where = "--case"
    else:
        loose = await store.loose_incident(incident or "")
        if loose is None:
            why = "no body of such an incident without a case stands here"
            raise CommandError("incident_unknown", "--incident", why)
        found, outcome = loose.held, Outcome(order=order, due=[], loose=[loose])
        where = "--incident"
    if found is not None:
        raise CommandError("held", where, f"it stays: {HELD[found]}")
    return outcome


def _tell(outcome: Outcome, for_good: bool) -> None:
    order = outcome.order
    going = [due for due in outcome.due if due.held is None]
    loose = [one for one in outcome.loose if one.held is None]
    years = "1 year" if order.years == 1 else f"{order.years} years"
    rule = f"older than {years}" if order.rule == "age" else "by request"
    click.echo(f"Cases {rule} ({order.why}): {len(outcome.due)}.")
    for due in going[:SHOWN]:
        last = f"last line {_day(due.last_at)}"
        click.echo(f"  {due.case}  {due.site}  {due.code or '-'}  {last}  {_bodies(due.lines)}")
    if len(going) > SHOWN:
        click.echo(f"  and {len(going) - SHOWN} more; --json names every one")
    for held, count in sorted(Counter(due.held for due in outcome.due if due.held).items()):
        click.echo(f"  {count} kept: {HELD[held]}")
    if outcome.loose:
        click.echo("Without a case:")
    for one in loose[:SHOWN]:
        told = f"{_bodies(len(one.lines))}, {one.refused} refused, of {_day(one.oldest_at)} and later"
        click.echo(f"  {one.site or 'this server'}  device {one.device}  {told}")
    if len(loose) > SHOWN:
        click.echo(f"  and {len(loose) - SHOWN} more devices; --json names every one")
    for one in outcome.loose:
        if one.held is not None:
            click.echo(f"  device {one.device}: {_bodies(len(one.lines))} kept: {HELD[one.held]}")
    if for_good:
        click.echo(
            f"Erased: {_bodies(outcome.erased)} that phones wrote, of {outcome.cases} cases and of none."
        )
        click.echo(
            f"And the words of {outcome.words} of the server's own lines, {outcome.refused} kept aside."
        )
        if outcome.changed:
            click.echo(f"{outcome.changed} stay for now: lines of them came meanwhile.")
        click.echo("Backups and exports made before still hold them, and phones and hubs may.")
    else:
        bodies = sum(due.lines for due in going) + sum(len(one.lines) for one in loose)
        click.echo(f"Would erase {_bodies(bodies)}, of {len(going)} cases and of none. Nothing was erased.")
        click.echo("--for-good erases them.")


def _day(at: int) -> str:
    return datetime.fromtimestamp(at / 1000, UTC).strftime("%Y-%m-%d")


def _bodies(count: int) -> str:
    return f"{count} {'body' if count == 1 else 'bodies'}"
