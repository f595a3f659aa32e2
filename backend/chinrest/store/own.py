"""The server's own chain: approvals, recalls, reads, withdrawals. It writes as a device like any other."""

from typing import Protocol

from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.log.case_events import Body
from chinrest.log.kept import SERVER_SITE
from chinrest.log.write import ChainWriter
from chinrest.store.house import own_device
from chinrest.store.lines import advance_own, head


class Clock(Protocol):
    """Which start of the program this is, and how long ago it was."""

    boot: str

    def mono_ms(self) -> int: ...


async def append_own(
    connection: AsyncConnection,
    clock: Clock,
    body: Body,
    *,
    actor: str | None,
    now: int,
    case: str | None = None,
    practice: bool = False,
) -> str:
    """Write the next line of the server's chain; its id. For use within a write."""
    device = await own_device(connection)
    seq, digest = await head(connection, device)
    chain = ChainWriter(device, clock.boot, seq=seq, head=digest)
    line = chain.write(body, at=now, mono=clock.mono_ms(), actor=actor, case=case, practice=practice)
    await advance_own(connection, line, SERVER_SITE, now)
    return line.envelope.id
