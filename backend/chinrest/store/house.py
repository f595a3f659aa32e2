"""Who this server is, its sites, and the numbers of its log."""

import uuid
from collections.abc import Mapping

from sqlalchemy import bindparam, insert, select, update
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.carried import CarryingKey, carrying_key_text
from chinrest.log.signing import new_key, public_of, sign
from chinrest.store.rows import Identity
from chinrest.store.scope import EVERYWHERE, Scope
from chinrest.store.tables import devices, house, sites

OWN_LABEL = "server"

# what each sync asks, made once (see devices.py)
_IDENTITY = select(house.c.server, house.c.epoch, devices.c.public_key).join_from(
    house, devices, devices.c.id == house.c.own_device
)
_SIGNING_KEY = select(house.c.signing_key)
_POSITION = select(house.c.position)
_TAKE_POSITIONS = (
    update(house).values(position=house.c.position + bindparam("count")).returning(house.c.position)
)


async def found(connection: AsyncConnection, now: int) -> None:
    """Give a new database its identity; an old one keeps its own."""
    if (await connection.execute(select(house.c.id))).first() is None:
        own = str(uuid.uuid4())
        await connection.execute(
            insert(house).values(
                id=1, server=str(uuid.uuid4()), epoch=str(uuid.uuid4()), own_device=own, position=0
            )
        )
        await _add_own_device(connection, own, now)
    if await signing_key(connection) is None:
        key = new_key()
        await connection.execute(update(house).values(signing_key=key))
        await connection.execute(
            update(devices).where(devices.c.kind == "server").values(public_key=public_of(key))
        )
    if (await connection.execute(select(house.c.carrying_key))).scalar_one() is None:
        await connection.execute(update(house).values(carrying_key=new_key()))


async def new_epoch(connection: AsyncConnection, now: int) -> None:
    """The server's own chain goes on under a new device id: lines of the lost time may stand elsewhere, and a
    second chain under the old id would be a fork of them."""
    own = str(uuid.uuid4())
    key = await signing_key(connection)
    await connection.execute(update(house).values(epoch=str(uuid.uuid4()), own_device=own))
    await _add_own_device(connection, own, now, public_of(key) if key else "")


async def _add_own_device(connection: AsyncConnection, own: str, now: int, public_key: str = "") -> None:
    await connection.execute(
        insert(devices).values(id=own, kind="server", label=OWN_LABEL, public_key=public_key, enrolled_at=now)
    )


async def identity(connection: AsyncConnection) -> Identity:
    row = (await connection.execute(_IDENTITY)).one()
    return Identity(server=row.server, epoch=row.epoch, public_key=row.public_key)


async def signing_key(connection: AsyncConnection) -> str | None:
    """The private key; null only before the store has been founded."""
    key: str | None = (await connection.execute(_SIGNING_KEY)).scalar_one()
    return key


async def own_key(connection: AsyncConnection) -> str:
    """The private key of a founded store."""
    key = await signing_key(connection)
    if key is None:
        raise RuntimeError("the store was not founded")
    return key


async def carrying_private_key(connection: AsyncConnection) -> str:
    """The private key that opens carried files; never the one that signs."""
    key: str = (await connection.execute(select(house.c.carrying_key))).scalar_one()
    return key


async def carrying_key(connection: AsyncConnection) -> CarryingKey:
    """Its public half, with this server's signature."""
    server: str = (await connection.execute(select(house.c.server))).scalar_one()
    public = public_of(await carrying_private_key(connection))
    signature = sign(await own_key(connection), carrying_key_text(server, public))
    return CarryingKey(server=server, key=public, signature=signature)


async def own_device(connection: AsyncConnection) -> str:
    own: str = (await connection.execute(select(house.c.own_device))).scalar_one()
    return own


async def position(connection: AsyncConnection) -> int:
    given: int = (await connection.execute(_POSITION)).scalar_one()
    return given


async def take_positions(connection: AsyncConnection, count: int) -> int:
    """Reserve `count` log positions; the first of them."""
    taken = await connection.execute(_TAKE_POSITIONS, {"count": count})
    last: int = taken.scalar_one()
    return last - count + 1


async def folds(connection: AsyncConnection) -> int | None:
    """By which rules the folds here were made; null before it was noted."""
    made: int | None = (await connection.execute(select(house.c.folds))).scalar_one()
    return made


async def set_folds(connection: AsyncConnection, rules: int) -> None:
    await connection.execute(update(house).values(folds=rules))


async def put_sites(connection: AsyncConnection, names: Mapping[str, str]) -> None:
    """Add sites and rename known ones. None is removed: lines may name it."""
    known = await site_names(connection)
    new = [{"id": site, "name": name} for site, name in names.items() if site not in known]
    if new:
        await connection.execute(insert(sites), new)
    for site, name in names.items():
        if site in known and known[site] != name:
            await connection.execute(update(sites).where(sites.c.id == site).values(name=name))


async def site_names(connection: AsyncConnection, scope: Scope = EVERYWHERE) -> dict[str, str]:
    """Site id -> name."""
    asked = select(sites.c.id, sites.c.name).where(*scope.of(sites.c.id)).order_by(sites.c.id)
    rows = await connection.execute(asked)
    return {row.id: row.name for row in rows}
