"""Links by which somebody sets their own password: one each, once, until it runs out."""

import secrets

from sqlalchemy import delete, insert, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store import people
from chinrest.store.faults import StoreError
from chinrest.store.own import Clock
from chinrest.store.rows import Invitation, Invited
from chinrest.store.scope import Scope
from chinrest.store.tables import invitations, staff

UNKNOWN = "this link was used, replaced or taken back, or never was; ask for a new one"


async def invite(
    connection: AsyncConnection,
    clock: Clock,
    scope: Scope,
    person: str,
    by: str,
    why: str,
    now: int,
    expires_at: int,
) -> Invitation:
    """A new link; an earlier one opens nothing any more."""
    known = await people.row_of(connection, person, scope)
    if known.withdrawn_at is not None:
        raise StoreError("staff_withdrawn", "staff", "they were withdrawn; let them in again first")
    token = secrets.token_urlsafe(32)
    await connection.execute(delete(invitations).where(invitations.c.staff == person))
    row = {"token_sha256": people.token_hash(token), "staff": person}
    try:
        await connection.execute(insert(invitations).values(**row, made_at=now, expires_at=expires_at))
    except IntegrityError as error:  # another server's, on the same database
        why = "somebody else made a link for them just now"
        raise StoreError("changed_meanwhile", "staff", why) from error
    await people.note(connection, clock, person, "invited", by, now, why)
    return Invitation(staff=person, token=token, expires_at=expires_at)


async def end_all(connection: AsyncConnection) -> None:
    await connection.execute(delete(invitations))


async def find(connection: AsyncConnection, token: str, now: int) -> Invited:
    """Whose it is. Faults: invitation_unknown, invitation_expired."""
    asked = (
        select(staff.c.id, staff.c.name, staff.c.role, invitations.c.expires_at)
        .join(invitations, invitations.c.staff == staff.c.id)
        .where(invitations.c.token_sha256 == people.token_hash(token))
    )
    row = (await connection.execute(asked)).first()
    if row is None:
        raise StoreError("invitation_unknown", "token", UNKNOWN)
    if now >= row.expires_at:
        raise StoreError("invitation_expired", "token", "this link has run out; ask for a new one")
    return Invited(staff=row.id, name=row.name, role=row.role, expires_at=row.expires_at)


async def take(
    connection: AsyncConnection, clock: Clock, token: str, password_hash: str, now: int
) -> Invited:
    """Spend it: the password is theirs, and whoever was signed in as them is not any more."""
    found = await find(connection, token, now)
    spent = await connection.execute(
        delete(invitations).where(invitations.c.token_sha256 == people.token_hash(token))
    )
    if spent.rowcount != 1:  # on another server's transaction, between the two
        raise StoreError("invitation_unknown", "token", UNKNOWN)
    await people.replace_password(connection, found.staff, password_hash)
    await people.note(connection, clock, found.staff, "joined", found.staff, now)
    return found
