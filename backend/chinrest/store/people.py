"""Officers and leads: passwords as argon2id hashes, sessions as hashes of random tokens."""

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

from chinrest.store.engines import note_change
from chinrest.store.faults import StoreError
from chinrest.store.rows import Role, Staff
from chinrest.store.tables import sessions, staff

LONGEST_NAME = 100
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
    return Staff(id=row.id, name=row.name, role=row.role)


async def add(connection: AsyncConnection, name: str, password_hash: str, role: Role, now: int) -> Staff:
    if not 0 < len(name_key(name)) <= LONGEST_NAME or not name.strip().isprintable():
        raise StoreError("value", "name", f"not one line of 1 to {LONGEST_NAME} characters")
    if await password_hash_of(connection, name) is not None:
        raise StoreError("name_taken", "name", f"there is a {name!r} already")
    person = Staff(id=str(uuid.uuid4()), name=name.strip(), role=role)
    await connection.execute(
        insert(staff).values(
            id=person.id,
            name=person.name,
            name_key=name_key(name),
            role=role,
            password_hash=password_hash,
            made_at=now,
        )
    )
    return person


async def set_password(connection: AsyncConnection, name: str, password_hash: str) -> None:
    found = await by_name(connection, name)
    if found is None:
        raise StoreError("staff_unknown", "name", f"there is no {name!r}")
    await connection.execute(update(staff).where(staff.c.id == found.id).values(password_hash=password_hash))
    await connection.execute(delete(sessions).where(sessions.c.staff == found.id))
    note_change(connection, "sessions")


async def everyone(connection: AsyncConnection) -> list[Staff]:
    return [_person(row) for row in await connection.execute(select(staff).order_by(staff.c.name_key))]


async def by_name(connection: AsyncConnection, name: str) -> Staff | None:
    row = (await connection.execute(select(staff).where(staff.c.name_key == name_key(name)))).first()
    return None if row is None else _person(row)


async def password_hash_of(connection: AsyncConnection, name: str) -> str | None:
    return (
        await connection.execute(select(staff.c.password_hash).where(staff.c.name_key == name_key(name)))
    ).scalar_one_or_none()


def _hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()


async def start_session(connection: AsyncConnection, person: str, now: int, expires_at: int) -> str:
    """The new session's token. Sessions that have run out are cleared away."""
    await connection.execute(delete(sessions).where(sessions.c.expires_at <= now))
    if (await connection.execute(select(staff.c.id).where(staff.c.id == person))).first() is None:
        raise StoreError("staff_unknown", "staff", "no such person")
    token = secrets.token_urlsafe(32)
    await connection.execute(
        insert(sessions).values(
            token_sha256=_hash(token), staff=person, started_at=now, expires_at=expires_at
        )
    )
    return token


async def session(connection: AsyncConnection, token: str, now: int) -> Staff | None:
    row = (
        await connection.execute(
            select(staff)
            .join(sessions, sessions.c.staff == staff.c.id)
            .where(sessions.c.token_sha256 == _hash(token))
            .where(sessions.c.expires_at > now)
        )
    ).first()
    return None if row is None else _person(row)


async def end_session(connection: AsyncConnection, token: str) -> None:
    await connection.execute(delete(sessions).where(sessions.c.token_sha256 == _hash(token)))
    note_change(connection, "sessions")
