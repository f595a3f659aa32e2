"""Who may sign in: passwords as argon2id hashes, sessions as hashes of random tokens. Whatever is done about
somebody is a line of the server's own chain."""

import functools
import secrets
import unicodedata
import uuid
from hashlib import sha256
from typing import Any

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import delete, insert, select, update
from sqlalchemy.engine import Row
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.house_events import StaffChange, StaffChanged
from chinrest.log.write import new_salt
from chinrest.store.engines import note_change
from chinrest.store.faults import StoreError
from chinrest.store.house import site_names
from chinrest.store.own import Clock, append_own
from chinrest.store.rows import Account, Role, Staff
from chinrest.store.scope import EVERYWHERE, Scope
from chinrest.store.tables import invitations, second_factors, sessions, staff

BY_COMMAND = "command"
"""Who did something that was done at the server's own machine."""
LONGEST_NAME = 100
NAME_NOT_FREE = "this name can't be given; add something that tells them apart"
LEAST_PASSWORD = 10
LONGEST_PASSWORD = 1000

_hasher = PasswordHasher()


@functools.cache
def _nobody() -> str:
    """A hash of nothing that anyone knows, so that an unknown name costs what a wrong password costs."""
    return _hasher.hash(secrets.token_urlsafe(32))


def hash_password(password: str) -> str:
    """Slow by design; call it in a thread."""
    if not 0 < len(password) <= LONGEST_PASSWORD:
        raise StoreError("value", "password", f"not 1 to {LONGEST_PASSWORD} characters")
    return _hasher.hash(_composed(password))


def matches(password_hash: str | None, password: str) -> bool:
    """Whether the password is right; false, after the same work, where there is no hash. Call it in a
    thread."""
    try:
        right = _hasher.verify(password_hash or _nobody(), _composed(password[:LONGEST_PASSWORD]))
    except (VerificationError, InvalidHashError):
        return False
    return right and password_hash is not None and len(password) <= LONGEST_PASSWORD


def _composed(text: str) -> str:
    """The same text however a keyboard composes its accents."""
    return unicodedata.normalize("NFKC", text)


def name_key(name: str) -> str:
    """Names with the same key are the same person's, however they are typed."""
    return _composed(name).casefold().strip()


def _person(row: Row[*tuple[Any, ...]]) -> Staff:
    return Staff(
        id=row.id, name=row.name, role=row.role, site=row.site, withdrawn=row.withdrawn_at is not None
    )


def check_new_password(password: str) -> None:
    """Refuse what is too short to be anybody's from now on."""
    if len(password) < LEAST_PASSWORD:
        raise StoreError("short_password", "password", f"use at least {LEAST_PASSWORD} characters")


async def _check_site(connection: AsyncConnection, site: str | None) -> None:
    if site is not None and site not in await site_names(connection):
        raise StoreError("site_unknown", "site", f"there is no site {site!r}")


async def add(
    connection: AsyncConnection,
    clock: Clock,
    scope: Scope,
    name: str,
    password_hash: str,
    role: Role,
    site: str | None,
    by: str,
    now: int,
) -> Staff:
    """With an empty `password_hash` nobody can sign in yet. Faults: other_site, site_unknown, name_taken,
    value."""
    scope.check(site)
    if not 0 < len(name_key(name)) <= LONGEST_NAME or not name.strip().isprintable():
        raise StoreError("value", "name", f"not one line of 1 to {LONGEST_NAME} characters")
    await _check_site(connection, site)
    if await password_hash_of(connection, name) is not None:
        # names are unique over every site, of which somebody with a site may not know who is there
        why = f"there is a {name!r} already" if scope.site is None else NAME_NOT_FREE
        raise StoreError("name_taken", "name", why)
    person = Staff(id=str(uuid.uuid4()), name=name.strip(), role=role, site=site)
    await connection.execute(
        insert(staff).values(
            id=person.id,
            name=person.name,
            name_key=name_key(name),
            role=role,
            password_hash=password_hash,
            made_at=now,
            site=site,
        )
    )
    await note(connection, clock, person.id, "added", by, now)
    return person


async def note(
    connection: AsyncConnection,
    clock: Clock,
    person: str,
    what: StaffChange,
    by: str,
    now: int,
    why: str = "",
) -> None:
    """Write what was done about somebody to the server's chain."""
    row = await row_of(connection, person)
    body = StaffChanged(
        salt=new_salt(), staff=person, by=by, what=what, role=row.role, site=row.site, why=why
    )
    await append_own(connection, clock, body, actor=by, now=now)


async def row_of(
    connection: AsyncConnection, person: str, scope: Scope = EVERYWHERE
) -> Row[*tuple[Any, ...]]:
    """Whoever has a site sees nobody who has none. Fault: staff_unknown."""
    row = (await connection.execute(select(staff).where(staff.c.id == person))).first()
    if row is None or not scope.sees(row.site):
        raise StoreError("staff_unknown", "staff", "no such person")
    return row


async def set_password(
    connection: AsyncConnection,
    clock: Clock,
    person: str,
    password_hash: str,
    by: str,
    now: int,
    keep: str | None = None,
) -> None:
    """Also ends the sessions, but for that of the token `keep`, and any open invitation."""
    await replace_password(connection, person, password_hash, keep)
    await connection.execute(delete(invitations).where(invitations.c.staff == person))
    await note(connection, clock, person, "password_changed", by, now)


async def replace_password(
    connection: AsyncConnection, person: str, password_hash: str, keep: str | None = None
) -> None:
    await connection.execute(update(staff).where(staff.c.id == person).values(password_hash=password_hash))
    kept = "" if keep is None else token_hash(keep)
    await connection.execute(
        delete(sessions).where(sessions.c.staff == person).where(sessions.c.token_sha256 != kept)
    )
    note_change(connection, "sessions")


async def change(
    connection: AsyncConnection,
    clock: Clock,
    scope: Scope,
    person: str,
    role: Role,
    site: str | None,
    by: str,
    now: int,
) -> None:
    """What somebody may do, and at which site; from their next contact on."""
    await row_of(connection, person, scope)
    scope.check(site)
    await _check_site(connection, site)
    await connection.execute(update(staff).where(staff.c.id == person).values(role=role, site=site))
    note_change(connection, "sessions")  # what is open of theirs was opened to another role or site
    await note(connection, clock, person, "changed", by, now)


async def withdraw(
    connection: AsyncConnection, clock: Clock, scope: Scope, person: str, by: str, why: str, now: int
) -> None:
    """Their sessions stay until they run out, so that the next contact can say why nothing opens."""
    row = await row_of(connection, person, scope)
    if row.withdrawn_at is not None:
        raise StoreError("changed_meanwhile", "staff", "they were withdrawn already")
    await connection.execute(update(staff).where(staff.c.id == person).values(withdrawn_at=now))
    note_change(connection, "sessions")
    await connection.execute(delete(invitations).where(invitations.c.staff == person))
    await note(connection, clock, person, "withdrawn", by, now, why)


async def readmit(
    connection: AsyncConnection, clock: Clock, scope: Scope, person: str, by: str, why: str, now: int
) -> None:
    """Sessions from before are ended: who comes back signs in anew."""
    row = await row_of(connection, person, scope)
    if row.withdrawn_at is None:
        raise StoreError("changed_meanwhile", "staff", "they are not withdrawn")
    await connection.execute(delete(sessions).where(sessions.c.staff == person))
    note_change(connection, "sessions")
    await connection.execute(update(staff).where(staff.c.id == person).values(withdrawn_at=None))
    await note(connection, clock, person, "readmitted", by, now, why)


async def everyone(connection: AsyncConnection) -> list[Staff]:
    return [_person(row) for row in await connection.execute(select(staff).order_by(staff.c.name_key))]


async def accounts(connection: AsyncConnection, scope: Scope) -> list[Account]:
    """Everybody who is seen, by name."""
    asked = (
        select(staff, invitations.c.expires_at, second_factors.c.confirmed_at)
        .outerjoin(invitations, invitations.c.staff == staff.c.id)
        .outerjoin(second_factors, second_factors.c.staff == staff.c.id)
        .where(*scope.of(staff.c.site))
        .order_by(staff.c.name_key)
    )
    return [
        Account(
            id=row.id,
            name=row.name,
            role=row.role,
            site=row.site,
            made_at=row.made_at,
            joined=bool(row.password_hash),
            last_sign_in_at=row.last_sign_in_at,
            withdrawn_at=row.withdrawn_at,
            invited_until=row.expires_at,
            second_factor=row.confirmed_at is not None,
        )
        for row in await connection.execute(asked)
    ]


async def by_name(connection: AsyncConnection, name: str) -> Staff | None:
    row = (await connection.execute(select(staff).where(staff.c.name_key == name_key(name)))).first()
    return None if row is None else _person(row)


async def named(connection: AsyncConnection, name: str) -> Staff:
    """Fault: staff_unknown."""
    found = await by_name(connection, name)
    if found is None:
        raise StoreError("staff_unknown", "name", f"there is no {name!r}")
    return found


async def password_hash_of(connection: AsyncConnection, name: str) -> str | None:
    return (
        await connection.execute(select(staff.c.password_hash).where(staff.c.name_key == name_key(name)))
    ).scalar_one_or_none()


def token_hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()


async def start_session(connection: AsyncConnection, person: str, now: int, expires_at: int) -> str:
    """The new session's token. Sessions that have run out are cleared away."""
    await connection.execute(delete(sessions).where(sessions.c.expires_at <= now))
    await row_of(connection, person)
    await connection.execute(update(staff).where(staff.c.id == person).values(last_sign_in_at=now))
    token = secrets.token_urlsafe(32)
    await connection.execute(
        insert(sessions).values(
            token_sha256=token_hash(token), staff=person, started_at=now, expires_at=expires_at
        )
    )
    return token


async def session(connection: AsyncConnection, token: str, now: int) -> Staff | None:
    row = (
        await connection.execute(
            select(staff)
            .join(sessions, sessions.c.staff == staff.c.id)
            .where(sessions.c.token_sha256 == token_hash(token))
            .where(sessions.c.expires_at > now)
        )
    ).first()
    return None if row is None else _person(row)


async def end_session(connection: AsyncConnection, token: str) -> None:
    await connection.execute(delete(sessions).where(sessions.c.token_sha256 == token_hash(token)))
    note_change(connection, "sessions")
