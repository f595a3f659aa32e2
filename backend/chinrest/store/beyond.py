"""At a hub: which server it relays to, known by its key, and how the hub's own chains compare with that
server's word."""

from msgspec import Struct
from sqlalchemy import delete, insert, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.carried import CarryingKey
from chinrest.store.tables import beyond, lines, relayed, stubs


class Beyond(Struct, frozen=True, kw_only=True):
    """The server that this hub relays to. `public_key`: SPKI in base64, given by hand at first contact."""

    server: str
    public_key: str
    carrying_key: CarryingKey | None = None


async def pinned(connection: AsyncConnection) -> Beyond | None:
    row = (await connection.execute(select(beyond))).first()
    if row is None:
        return None
    carrying = None
    if row.carrying_key is not None:
        carrying = CarryingKey(server=row.server, key=row.carrying_key, signature=row.carrying_signature)
    return Beyond(server=row.server, public_key=row.public_key, carrying_key=carrying)


async def pin(connection: AsyncConnection, server: str, public_key: str, now: int) -> None:
    """From now on this server and no other; another one's word of what it holds goes."""
    await connection.execute(delete(beyond))
    await connection.execute(insert(beyond).values(server=server, public_key=public_key, pinned_at=now))
    await connection.execute(delete(relayed).where(relayed.c.server != server))


async def keep_carrying_key(connection: AsyncConnection, said: CarryingKey) -> None:
    """The caller has checked its signature."""
    await connection.execute(
        update(beyond)
        .where(beyond.c.server == said.server)
        .values(carrying_key=said.key, carrying_signature=said.signature)
    )


async def envelope_at(connection: AsyncConnection, device: str, seq: int) -> str | None:
    """Hash of the envelope that stands here at a sequence, a refused line's too; null where none does."""
    for table in (lines, stubs):
        found = await connection.execute(
            select(table.c.envelope_sha256).where(table.c.device == device).where(table.c.seq == seq)
        )
        digest: str | None = found.scalar_one_or_none()
        if digest is not None:
            return digest
    return None
