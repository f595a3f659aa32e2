"""Codes of an authenticator beside the password (TOTP, RFC 6238), and recovery codes for when it is lost."""

import re
import secrets

from argon2 import PasswordHasher
from cryptography.hazmat.primitives.hashes import SHA1
from cryptography.hazmat.primitives.twofactor import InvalidToken
from cryptography.hazmat.primitives.twofactor.hotp import HOTP
from cryptography.hazmat.primitives.twofactor.totp import TOTP
from sqlalchemy import delete, func, insert, or_, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store import people
from chinrest.store.faults import StoreError
from chinrest.store.own import Clock
from chinrest.store.rows import SecondFactor
from chinrest.store.tables import recovery_codes, second_factors

ISSUER = "Chinrest"
DIGITS = 6
STEP_S = 30
"""RFC 6238, 4.1: the default. Authenticators know no other values for certain, nor another hash than SHA-1,
which RFC 4226 builds on for its truncated HMAC; collisions of SHA-1 don't touch that."""
DRIFT_STEPS = 1
"""RFC 6238, 5.2: at most one step for what typing and the network take."""
SECRET_BYTES = 20
"""RFC 4226, 4, R6: 160 bits recommended."""
RECOVERY_CODES = 8
WRONG = "not the authenticator's code of now; is its clock right?"
_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford's: none is taken for another
_hasher = PasswordHasher()


def new_secret() -> bytes:
    return secrets.token_bytes(SECRET_BYTES)


def address_of(secret: bytes, name: str) -> str:
    """What an authenticator scans."""
    return TOTP(secret, DIGITS, SHA1(), STEP_S).get_provisioning_uri(name, ISSUER)  # noqa: S303 (STEP_S says)


def step_of(secret: bytes, code: str, now: int) -> int | None:
    """Which time step's code this is, near `now` (ms); null where it is none of them."""
    hotp = HOTP(secret, DIGITS, SHA1())  # noqa: S303 (STEP_S says why)
    here = now // (STEP_S * 1000)
    for step in range(max(0, here - DRIFT_STEPS), here + DRIFT_STEPS + 1):
        try:
            hotp.verify(code.encode(), step)  # in constant time
        except InvalidToken:
            continue
        return step
    return None


def new_recovery_codes() -> list[str]:
    """As `3-XXXXX-XXXXX`: the number says which one it is, the rest is 50 random bits."""

    def letters() -> str:
        return "".join(secrets.choice(_LETTERS) for _ in range(5))

    return [f"{number}-{letters()}-{letters()}" for number in range(1, RECOVERY_CODES + 1)]


def plain(code: str) -> str:
    """A code without the spaces and dashes that people write for their eyes."""
    return re.sub(r"[\s-]", "", code).upper().replace("O", "0").replace("I", "1").replace("L", "1")


def hash_of(code: str) -> str:
    """Slow by design; call it in a thread."""
    return _hasher.hash(plain(code))


async def begin(connection: AsyncConnection, person: str, secret: bytes) -> None:
    """Keep a secret that is not asked for yet; an earlier one that was never confirmed is gone."""
    if await secret_of(connection, person, on=True) is not None:
        why = "there is one already; turn it off first"
        raise StoreError("second_factor_on", "second_factor", why)
    await connection.execute(delete(second_factors).where(second_factors.c.staff == person))
    try:
        await connection.execute(insert(second_factors).values(staff=person, secret=secret))
    except IntegrityError as error:  # another server's, on the same database
        raise StoreError("changed_meanwhile", "second_factor", "it was begun twice at once") from error


async def secret_of(connection: AsyncConnection, person: str, *, on: bool) -> bytes | None:
    """The secret that is asked for, or (`on` false) the one that waits to be confirmed."""
    confirmed = second_factors.c.confirmed_at
    found: bytes | None = (
        await connection.execute(
            select(second_factors.c.secret)
            .where(second_factors.c.staff == person)
            .where(confirmed.is_not(None) if on else confirmed.is_(None))
        )
    ).scalar_one_or_none()
    return found


async def confirm(
    connection: AsyncConnection, clock: Clock, person: str, code: str, hashes: list[str], now: int
) -> None:
    """From now on it is asked for: the authenticator has shown that it knows the secret."""
    secret = await secret_of(connection, person, on=False)
    if secret is None:
        raise StoreError("second_factor_unknown", "code", "nothing waits to be confirmed; begin again")
    step = step_of(secret, plain(code), now)
    if step is None:
        raise StoreError("wrong_code", "code", WRONG)
    await connection.execute(
        update(second_factors)
        .where(second_factors.c.staff == person)
        .values(confirmed_at=now, last_step=step)
    )
    await connection.execute(delete(recovery_codes).where(recovery_codes.c.staff == person))
    rows = [{"staff": person, "number": n, "code_hash": one} for n, one in enumerate(hashes, 1)]
    await connection.execute(insert(recovery_codes), rows)
    await people.note(connection, clock, person, "second_factor_on", person, now)


async def turn_off(
    connection: AsyncConnection, clock: Clock, person: str, by: str, why: str, now: int
) -> None:
    """Fault: second_factor_unknown, where there is none."""
    gone = await connection.execute(delete(second_factors).where(second_factors.c.staff == person))
    if gone.rowcount == 0:
        raise StoreError("second_factor_unknown", "second_factor", "there is none")
    await connection.execute(delete(recovery_codes).where(recovery_codes.c.staff == person))
    await people.note(connection, clock, person, "second_factor_off", by, now, why)


async def take_step(connection: AsyncConnection, person: str, step: int) -> bool:
    """Use a step's code up; false where it, or a later one, was used before (RFC 6238, 5.2)."""
    last = second_factors.c.last_step
    taken = await connection.execute(
        update(second_factors)
        .where(second_factors.c.staff == person)
        .where(second_factors.c.confirmed_at.is_not(None))
        .where(or_(last.is_(None), last < step))
        .values(last_step=step)
    )
    return taken.rowcount == 1


async def recovery_hash(connection: AsyncConnection, person: str, code: str) -> tuple[int, str | None]:
    """The number of a recovery code, and the hash to hold it against; null where that one was used, or is
    none."""
    first = plain(code)[:1]
    number = int(first) if first in set("123456789") else 0
    asked = (
        select(recovery_codes.c.code_hash)
        .where(recovery_codes.c.staff == person)
        .where(recovery_codes.c.number == number)
        .where(recovery_codes.c.used_at.is_(None))
    )
    return number, (await connection.execute(asked)).scalar_one_or_none()


async def take_recovery(
    connection: AsyncConnection, clock: Clock, person: str, number: int, now: int
) -> bool:
    taken = await connection.execute(
        update(recovery_codes)
        .where(recovery_codes.c.staff == person)
        .where(recovery_codes.c.number == number)
        .where(recovery_codes.c.used_at.is_(None))
        .values(used_at=now)
    )
    if taken.rowcount != 1:
        return False
    await people.note(connection, clock, person, "recovery_code_used", person, now)
    return True


async def state(connection: AsyncConnection, person: str) -> SecondFactor:
    on = await secret_of(connection, person, on=True) is not None
    left = (
        await connection.execute(
            select(func.count())
            .select_from(recovery_codes)
            .where(recovery_codes.c.staff == person)
            .where(recovery_codes.c.used_at.is_(None))
        )
    ).scalar_one()
    return SecondFactor(on=on, recovery_left=left)
