"""Who works on a site's phones no longer. Phones know people by the names that they log under."""

from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.house_events import DecidedBeyond, PersonReadmitted, PersonWithdrawn
from chinrest.log.people_word import PeopleWord, PersonWord
from chinrest.log.registry import type_of
from chinrest.log.write import new_salt
from chinrest.store.faults import StoreError
from chinrest.store.house import site_names
from chinrest.store.own import Clock, append_own
from chinrest.store.packs import house_body
from chinrest.store.people import name_key
from chinrest.store.scope import Scope
from chinrest.store.tables import devices, lines

LONGEST_NAME = 40

_DECIDED = (
    select(lines.c.position, lines.c.received_at, lines.c.envelope, lines.c.body)
    .join(devices, devices.c.id == lines.c.device)
    .where(devices.c.kind == "server")
    .where(lines.c.type.in_((type_of(PersonWithdrawn), type_of(PersonReadmitted))))
    .order_by(lines.c.position)
)
"""Each sync asks it: made once (see devices.py)."""


async def change(
    connection: AsyncConnection,
    clock: Clock,
    scope: Scope,
    site: str,
    person: str,
    *,
    withdrawn: bool,
    by: str,
    why: str,
    now: int,
) -> None:
    """Withdraw somebody from the site's phones, or let them in again. Faults: other_site, site_unknown,
    value."""
    scope.check(site)
    if site not in await site_names(connection):
        raise StoreError("site_unknown", "site", f"there is no site {site!r}")
    if not 0 < len(name_key(person)) <= LONGEST_NAME or not person.strip().isprintable():
        raise StoreError("value", "person", f"not one line of 1 to {LONGEST_NAME} characters")
    kind = PersonWithdrawn if withdrawn else PersonReadmitted
    body = kind(salt=new_salt(), site=site, person=person.strip(), by=by, why=why)
    await append_own(connection, clock, body, actor=by, now=now)


async def withdrawn(connection: AsyncConnection, site: str) -> list[str]:
    """Everybody whose last word at the site is a withdrawal, by name."""
    last = {name_key(each.body.person): each.body for each in await _decided(connection, site)}
    return sorted(body.person for body in last.values() if isinstance(body, PersonWithdrawn))


async def last_words(connection: AsyncConnection, site: str) -> list[PersonWord]:
    """The last decision about everybody at the site, by name."""
    last = {name_key(each.body.person): each for each in await _decided(connection, site)}
    return [
        PersonWord(
            person=each.body.person,
            withdrawn=isinstance(each.body, PersonWithdrawn),
            number=each.position,
            at=each.at,
        )
        for _, each in sorted(last.items())
    ]


async def follow(
    connection: AsyncConnection, clock: Clock, word: PeopleWord, by: str, now: int
) -> list[PersonWord]:
    """At a hub: follow the word of the server beyond, whose signature the caller has checked; what of it was
    new.

    Whom that server withdrew is withdrawn here, though the hub's own people let them in again. Whom the hub's
    own people withdrew stays so, whatever that server says.
    """
    known: dict[str, _Known] = {}
    for each in await _decided(connection, word.site):
        before = known.get(name_key(each.body.person))
        followed = each.body.beyond or (before.followed if before else None)
        known[name_key(each.body.person)] = _Known(each.body, followed)
    done = []
    for said in word.people:
        before = known.get(name_key(said.person))
        if before and before.followed and _is_older(word.epoch, said, before.followed):
            continue
        is_out = before is not None and isinstance(before.body, PersonWithdrawn)
        if said.withdrawn == is_out or (before and is_out and before.body.beyond is None):
            continue
        kind = PersonWithdrawn if said.withdrawn else PersonReadmitted
        body = kind(
            salt=new_salt(),
            site=word.site,
            person=said.person,
            by=by,
            why=f"{'withdrawn' if said.withdrawn else 'readmitted'} at the server beyond",
            beyond=DecidedBeyond(epoch=word.epoch, number=said.number, at=said.at),
        )
        await append_own(connection, clock, body, actor=by, now=now)
        done.append(said)
    return done


class _Decision(NamedTuple):
    """`at`: by this server's clock (ms)."""

    body: PersonWithdrawn | PersonReadmitted
    position: int
    at: int


class _Known(NamedTuple):
    """What was last decided here about somebody, and which decision of the server beyond was followed."""

    body: PersonWithdrawn | PersonReadmitted
    followed: DecidedBeyond | None


def _is_older(epoch: str, said: PersonWord, followed: DecidedBeyond) -> bool:
    return said.number < followed.number if epoch == followed.epoch else said.at < followed.at


async def _decided(connection: AsyncConnection, site: str) -> list[_Decision]:
    """All that the server's own chain says of the site's people, in order."""
    out = []
    for row in await connection.execute(_DECIDED):
        body = None if row.body is None else house_body(row.envelope, row.body)
        if isinstance(body, PersonWithdrawn | PersonReadmitted) and body.site == site:
            out.append(_Decision(body, row.position, row.received_at))
    return out
