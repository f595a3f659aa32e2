"""Who works on a site's phones no longer. Phones know people by the names that they log under."""

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.house_events import PersonReadmitted, PersonWithdrawn
from chinrest.log.registry import type_of
from chinrest.log.write import new_salt
from chinrest.store.faults import StoreError
from chinrest.store.house import site_names
from chinrest.store.own import Clock, append_own
from chinrest.store.packs import house_body
from chinrest.store.people import name_key
from chinrest.store.tables import devices, lines

LONGEST_NAME = 40


async def change(
    connection: AsyncConnection,
    clock: Clock,
    site: str,
    person: str,
    *,
    withdrawn: bool,
    by: str,
    why: str,
    now: int,
) -> None:
    """Withdraw somebody from the site's phones, or let them in again."""
    if site not in await site_names(connection):
        raise StoreError("site_unknown", "site", f"there is no site {site!r}")
    if not 0 < len(name_key(person)) <= LONGEST_NAME or not person.strip().isprintable():
        raise StoreError("value", "person", f"not one line of 1 to {LONGEST_NAME} characters")
    kind = PersonWithdrawn if withdrawn else PersonReadmitted
    body = kind(salt=new_salt(), site=site, person=person.strip(), by=by, why=why)
    await append_own(connection, clock, body, actor=by, now=now)


async def withdrawn(connection: AsyncConnection, site: str) -> list[str]:
    """Everybody whose last word at the site is a withdrawal, by name."""
    found = await connection.execute(
        select(lines.c.envelope, lines.c.body)
        .join(devices, devices.c.id == lines.c.device)
        .where(devices.c.kind == "server")
        .where(lines.c.type.in_((type_of(PersonWithdrawn), type_of(PersonReadmitted))))
        .order_by(lines.c.position)
    )
    out: dict[str, str] = {}
    for row in found:
        body = None if row.body is None else house_body(row.envelope, row.body)
        if isinstance(body, PersonWithdrawn) and body.site == site:
            out[name_key(body.person)] = body.person
        elif isinstance(body, PersonReadmitted) and body.site == site:
            out.pop(name_key(body.person), None)
    return sorted(out.values())
