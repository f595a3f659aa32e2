"""A phone's tokens, of which only hashes are kept: the full one, and with PINs one that may only send.

Beside enrolment the phone makes them itself and tells the hashes, so that asking twice is asking once. A new
full token counts beside the one before until it is first used: an answer that got lost shuts nobody out.
"""

from hashlib import sha256

from sqlalchemy import BindParameter, ColumnElement, or_, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.line import is_sha256
from chinrest.store.faults import StoreError
from chinrest.store.rows import TokenKind
from chinrest.store.tables import devices

TAKEN = "that token is in use; make another"
KINDS = (devices.c.token_sha256, devices.c.send_token_sha256, devices.c.next_token_sha256)


def token_hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def is_any_of(hashed: str | BindParameter[str]) -> ColumnElement[bool]:
    return or_(*(kind == hashed for kind in KINDS))


async def check_free(connection: AsyncConnection, device: str, hashed: str, kinds: set[TokenKind]) -> None:
    """Refuse what is no hash, another phone's, or the phone's own of a kind that is not among `kinds`. Raises
    StoreError."""
    if not is_sha256(hashed):
        raise StoreError("value", "token_sha256", "not a SHA-256 in lower-case hex")
    rows = await connection.execute(select(devices.c.id, *KINDS).where(is_any_of(hashed)))
    for owner, full, send, following in rows:
        held: dict[TokenKind, str | None] = {"full": full, "send": send, "next": following}
        if owner != device or any(held[kind] == hashed for kind in held if kind not in kinds):
            raise StoreError("token_taken", "token_sha256", TAKEN)


async def change(connection: AsyncConnection, device: str, send: str, full: str) -> None:
    """Take the hash of the token that may only send and, unless it is empty, that of a new full one. Raises
    StoreError."""
    await check_free(connection, device, send, {"send"})
    values: dict[str, str | None] = {"send_token_sha256": send}
    if full:
        await check_free(connection, device, full, {"full", "next"})
        if full == send:
            raise StoreError("token_taken", "token_sha256", TAKEN)
        current = await connection.execute(select(devices.c.token_sha256).where(devices.c.id == device))
        values["next_token_sha256"] = None if current.scalar_one_or_none() == full else full
    try:
        await connection.execute(update(devices).where(devices.c.id == device).values(**values))
    except IntegrityError as error:  # another server's, on the same database
        raise StoreError("token_taken", "token_sha256", TAKEN) from error


async def take_over(connection: AsyncConnection, hashed: str) -> None:
    """The new full token was used: the one before has ended."""
    await connection.execute(
        update(devices)
        .where(devices.c.next_token_sha256 == hashed)
        .values(token_sha256=hashed, next_token_sha256=None)
    )
